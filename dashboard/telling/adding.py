"""The forms for a new way: what each asks, and what becomes of it."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote, urlencode

from collector.errors import EntryRefused
from collector.notify.channels import checked
from collector.notify.kinds import KINDS
from dashboard.telling.ways import LEAST

HOUSE = "house"  # stands in a form for "nobody in particular"
LONGEST_NAME, LONGEST_FIELD, HIGHEST_PORT = 80, 500, 65_535


@dataclass(frozen=True, slots=True)
class Field:
    """A field of a form, as parts/fields.html shows it."""

    name: str
    label: str
    hint: str = ""
    type: str = "text"
    inputmode: str = ""
    required: bool = True


@dataclass(frozen=True, slots=True)
class Sort:
    """A sort of way that can be added.

    Args:
        path: the last part of its page's address. kind: of collector.notify.kinds. what: said under its name.
        options: makes the channel's options of the typed texts.
    """

    path: str
    kind: str
    title: str
    what: str
    name: str
    fields: tuple[Field, ...]
    options: Callable[[Mapping[str, str]], dict[str, Any]]

    @property
    def leaves_house(self) -> str:
        return KINDS[self.kind].leaves_house

    @property
    def takes_warnings(self) -> bool:
        return KINDS[self.kind].takes_warnings

    @property
    def tells_people(self) -> bool:
        return KINDS[self.kind].tells_people


@dataclass(frozen=True, slots=True)
class Chosen:
    """A new way as typed."""

    name: str
    options: dict[str, Any]
    person_id: str | None
    least: str


SAFETY = {
    "starttls": "Sealed after the first words (the usual, port 587)",
    "ssl": "Sealed from the start (port 465)",
    "insecure": "Open: anybody on the way can read it, and the password",
}


def read(sort: Sort, texts: Mapping[str, str], people: Mapping[str, str]) -> Chosen:
    """A filled-in form.

    Raises:
        EntryRefused: the first field that cannot be taken.
    """
    name = texts.get("name", "").strip() or sort.name
    if len(name) > LONGEST_NAME:
        raise EntryRefused("name", f"Take at most {LONGEST_NAME} characters; this has {len(name)}.")
    whose, least = texts.get("whose", HOUSE), texts.get("least", "warn")
    if whose != HOUSE and whose not in people:
        raise EntryRefused("whose", "Take one of the choices.")
    if least not in LEAST:
        raise EntryRefused("least", "Take one of the choices.")
    options = checked(sort.kind, sort.options(texts))
    return Chosen(name, options, None if whose == HOUSE else whose, least)


def _mail(texts: Mapping[str, str]) -> dict[str, Any]:
    """An e-mail's fields as one address of the mail service."""
    to, sender, host = _address(texts, "to"), _address(texts, "from"), _host(texts)
    mode = texts.get("safety", "starttls")
    if mode not in SAFETY:
        raise EntryRefused("safety", "Take one of the choices.")
    user, password = texts.get("user", "").strip(), texts.get("password", "")
    who = f"{quote(user, safe='')}:{quote(password, safe='')}@" if user else ""
    rest = urlencode({"from": sender, "to": to, "smtp": host.partition(":")[0], "mode": mode})
    scheme = "mailto" if mode == "insecure" else "mailtos"
    return {"url": f"{scheme}://{who}{host}/?{rest}"}


def _address(texts: Mapping[str, str], field: str) -> str:
    text = texts.get(field, "").strip()
    before, at, host = text.partition("@")
    if not (before and at and host) or len(text) > LONGEST_FIELD or any(sign in text for sign in " ,;<>\"'\r\n\t"):
        raise EntryRefused(field, "It must be one e-mail address, like keeper@example.org.")
    return text


def _host(texts: Mapping[str, str]) -> str:
    text = texts.get("host", "").strip()
    name, colon, port = text.partition(":")
    plain = bool(name) and all(sign.isalnum() or sign in ".-" for sign in name) and len(name) <= LONGEST_FIELD
    numbered = not colon or (port.isascii() and port.isdigit() and 0 < int(port[:6]) <= HIGHEST_PORT)
    if not plain or not numbered:
        raise EntryRefused("host", "It must be the mail server's name, like smtp.example.org or smtp.example.org:587.")
    return text


def _url(texts: Mapping[str, str]) -> dict[str, Any]:
    return {"url": texts.get("url", "").strip()}


NAMED = Field("name", "What to call it here", "Empty: a name of ours.", required=False)
SORTS: tuple[Sort, ...] = (
    Sort(
        "email", "apprise", "E-mail", "To any address, through the mail server that you use", "E-mail",
        (
            Field("to", "Send to", inputmode="email"),
            Field("from", "Sent from", "The address that belongs to the mail account.", inputmode="email"),
            Field("host", "Mail server", "Your mail provider names it: \"outgoing server\" or SMTP.", inputmode="url"),
            Field("user", "User at the mail server", "Often the e-mail address. Empty: no sign-in.", required=False),
            Field("password", "Password there", "Many providers give an own \"app password\" for this.", "password",
                  required=False),
        ),
        _mail,
    ),
    Sort(
        "service", "apprise", "A messaging service", "Any service that the Apprise library speaks", "Messaging service",
        (
            Field("url", "Apprise address", "One line, as the Apprise library's pages list it for each service. It "
                  "holds your key to the service: it is kept and not shown again.", "password"),
        ),
        _url,
    ),
    Sort(
        "webhook", "webhook", "A web address of your own", "Gets signed JSON, for home gear or a program of yours",
        "Web address",
        (Field("url", "Address", "It is kept and not shown again.", inputmode="url"),),
        _url,
    ),
    Sort(
        "devices", "mqtt", "Other devices in the house", "What holds for each place, over the probes' broker (MQTT)",
        "Devices in the house", (), lambda _texts: {},
    ),
    Sort(
        "heartbeat", "heartbeat", "Tell of this machine's death",
        "A service that writes to you when this machine falls silent", "Heartbeat",
        (
            Field("url", "Address to call", "The service that waits for the sign of life gives it to you. It is kept "
                  "and not shown again.", inputmode="url"),
        ),
        _url,
    ),
)  # fmt: skip
BY_PATH = {sort.path: sort for sort in SORTS}
WAYS = tuple(sort for sort in SORTS if sort.takes_warnings)
