"""A web address of one's own: JSON by POST, signed as the open Standard Webhooks text says (version 1).

Signed is "id.time.body" with HMAC-SHA256; the id stays the same when a message is sent twice.
"""

import base64
import hashlib
import hmac
import json
from typing import Any

from collector.clock import Clock, SystemClock
from collector.notify.message import Message
from collector.notify.web import Web, ask, refuse_trouble

SECRET_PREFIX = "whsec_"  # noqa: S105 the prefix of a secret, none itself


def signature(secret: str, message_id: str, timestamp_s: int, body: bytes) -> str:
    """The signature header of a webhook.

    Args:
        secret: as the person copies it; after the prefix "whsec_" it is base64, without it plain text.
        message_id, timestamp_s, body: what is signed.
    Source: Standard Webhooks, specification of signatures.
    """
    key = base64.b64decode(secret.removeprefix(SECRET_PREFIX)) if secret.startswith(SECRET_PREFIX) else secret.encode()
    digest = hmac.new(key, f"{message_id}.{timestamp_s}.".encode() + body, hashlib.sha256).digest()
    return f"v1,{base64.b64encode(digest).decode()}"


class Webhook:
    """Options: url, secret."""

    def __init__(self, name: str, options: dict[str, Any], clock: Clock | None = None) -> None:
        self._name, self._url, self._secret = name, str(options["url"]), str(options["secret"])
        self._clock = clock or SystemClock()

    def send(self, message: Message) -> None:
        body = json.dumps(_shown(message), ensure_ascii=False, separators=(",", ":")).encode()
        timestamp_s = int(self._clock.now().timestamp())
        headers = {
            "Content-Type": "application/json",
            "webhook-id": message.id,
            "webhook-timestamp": str(timestamp_s),
            "webhook-signature": signature(self._secret, message.id, timestamp_s, body),
        }
        with Web() as session, ask(self._name, session, "POST", self._url, data=body, headers=headers) as response:
            refuse_trouble(self._name, response, self._url)


def _shown(message: Message) -> dict[str, Any]:
    return {
        "id": message.id,
        "kind": message.kind,
        "severity": message.severity,
        "title": message.title,
        "text": message.body,
        "link": message.link,
        "written_at": message.created_at.isoformat(),
        "problems": list(message.problems),
    }
