"""E-mail and the many services that Apprise speaks."""

import contextlib
from collections.abc import Iterator
from typing import Any
from urllib.parse import unquote, urlsplit

import apprise
from apprise.plugins.email import base as email

from collector.errors import WarningNotSent
from collector.notify.message import Message

SHOWN_LEAST = 3  # parts of an address this short are no secret and may stand in a reason
LONGEST_REASON = 200
TYPES = {
    "note": apprise.NotifyType.INFO,
    "warn": apprise.NotifyType.WARNING,
    "urgent": apprise.NotifyType.FAILURE,
}


class Asset(apprise.AppriseAsset):
    """How Apprise behaves here: no redirects, nothing kept on disk, secrets masked in what it logs."""

    http_redirects = False
    app_id = "rindwatch"
    app_desc = "rindwatch"
    app_url = ""


class Service:
    """Options: url."""

    def __init__(self, name: str, options: dict[str, Any]) -> None:
        self._name, self._url = name, str(options["url"])

    def send(self, message: Message) -> None:
        plugin = apprise.Apprise.instantiate(self._url, asset=Asset(secure_logging=True, storage_mode="memory"))
        if plugin is None:
            raise WarningNotSent(self._name, "this is no address that can be sent to", retry=False)
        if isinstance(plugin, email.NotifyEmail) and message.thread:
            thread = message_id(message.thread, plugin)
            plugin.headers |= {"In-Reply-To": thread, "References": thread}
        sender = apprise.Apprise()
        sender.add(plugin)
        with known_by(message, plugin):
            result = sender.notify(
                body=message.text,
                title=message.title,
                notify_type=apprise.NotifyType.SUCCESS if message.kind == "cleared" else TYPES[message.severity],
                body_format=apprise.NotifyFormat.TEXT,
            )
        if not result:
            raise WarningNotSent(self._name, self._reason(result))

    def _reason(self, result: Any) -> str:
        said = [entry.message for entry in result.logs()]
        reason = without_secrets(said[-1], self._url) if said else "the service did not take it"
        return reason[:LONGEST_REASON]


def message_id(outbox_id: str, plugin: Any) -> str:
    """The same Message-ID for the same message at every try (RFC 5322, section 3.6.4)."""
    domain = str(plugin.from_addr[1]).rpartition("@")[2] or "rindwatch.invalid"
    return f"<{outbox_id}@{domain}>"


@contextlib.contextmanager
def known_by(message: Message, plugin: Any) -> Iterator[None]:
    """Apprise makes up a new Message-ID for each e-mail; ours takes its place while a message is sent."""
    if not isinstance(plugin, email.NotifyEmail):
        yield
        return
    writer: Any = email
    made_up = writer.make_msgid
    writer.make_msgid = lambda *_args, **_kwargs: message_id(message.id, plugin)
    try:
        yield
    finally:
        writer.make_msgid = made_up


def without_secrets(text: str, url: str) -> str:
    """A text with every part of an address but its scheme blotted out."""
    parts = urlsplit(url)
    pieces = [parts.username, parts.password, *parts.path.split("/"), parts.fragment]
    pieces += [piece for pair in parts.query.split("&") for piece in pair.partition("=")[::2]]
    for piece in sorted({p for p in pieces if p} | {unquote(p) for p in pieces if p}, key=len, reverse=True):
        if len(piece) > SHOWN_LEAST:
            text = text.replace(piece, "***")
    return text
