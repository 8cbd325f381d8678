"""Web Push to an installed page (RFC 8030, 8291, 8292), by pywebpush."""

import json
from typing import Any
from urllib.parse import urlsplit

import requests
from cryptography.hazmat.primitives.asymmetric import ec
from py_vapid import VapidException
from pywebpush import WebPushException, webpush

from collector.errors import WarningNotSent
from collector.notify.message import Message
from collector.notify.push_keys import unbase64url
from collector.notify.web import TIMEOUT_S, Web, pause_s, why

LIFETIME_S = 86_400  # kept for a phone that sleeps for a day; longer, it is stale
LARGEST_TEXT = 3_993  # bytes, RFC 8291 section 4
SHORTENED = 1_000  # characters of a body that did not fit
DECLARATIVE = 8030  # the number by which a browser knows that it may show the message itself (W3C Push API)
TOO_LARGE, TOO_MANY, GONE = 413, 429, (404, 410)
URGENCY = {"note": "normal", "warn": "high", "urgent": "high"}


class Push:
    """Options: endpoint, p256dh, auth (the subscription), key (ours, raw base64url), contact (mailto: or https:).

    Only the open internet is spoken to: the endpoint comes from a phone, and a forged one must not make us knock at
    doors in the house. `test_ca` lifts that for a push service that a test runs, and names whom to trust there.
    """

    def __init__(self, name: str, options: dict[str, Any]) -> None:
        self._name, self._options = name, options
        self._endpoint = str(options["endpoint"])

    def send(self, message: Message) -> None:
        test_ca = self._options.get("test_ca")
        if urlsplit(self._endpoint).scheme != "https":
            raise WarningNotSent(self._name, "the subscription's address must begin with https", gone=True)
        self._refuse_keys()
        with Web(only_global=test_ca is None, ca=test_ca) as session:
            try:
                self._push(session, message)
            except WebPushException as error:
                raise self._ours(error) from None
            except (requests.RequestException, OSError) as error:
                raise WarningNotSent(self._name, why(error, self._endpoint)) from None
            except (ValueError, VapidException):
                raise WarningNotSent(self._name, "our own key or contact for push services cannot be used") from None

    def _refuse_keys(self) -> None:
        """Keys that no browser made would fail at every try."""
        try:
            ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), unbase64url(str(self._options["p256dh"])))
            unbase64url(str(self._options["auth"]))
        except ValueError:
            raise WarningNotSent(self._name, "the subscription's keys cannot be used", gone=True) from None

    def _push(self, session: Web, message: Message) -> None:
        keys = {"p256dh": self._options["p256dh"], "auth": self._options["auth"]}
        webpush(
            {"endpoint": self._endpoint, "keys": keys},
            payload(message),
            vapid_private_key=str(self._options["key"]),
            vapid_claims={"sub": str(self._options["contact"])},  # a new one each time: the library writes into it
            ttl=LIFETIME_S,
            timeout=TIMEOUT_S,
            headers={"Urgency": URGENCY[message.severity], "Topic": topic(message)},
            requests_session=session,
        )

    def _ours(self, error: WebPushException) -> WarningNotSent:
        status = error.status_code
        host = urlsplit(self._endpoint).hostname or "the push service"
        if status in GONE:
            return WarningNotSent(self._name, "this phone has ended its subscription", gone=True)
        if status is not None and 300 <= status < 400:
            return WarningNotSent(self._name, f"{host} answers with a redirect, which is not followed")
        wait_s = pause_s(getattr(error.response, "headers", {}))
        return WarningNotSent(self._name, f"{host} answered {status}", retry=status != TOO_LARGE, wait_s=wait_s)


def topic(message: Message) -> str:
    """A later message of the same thread replaces one that the phone has not fetched yet: 32 signs at most."""
    return (message.thread or message.id).replace("-", "")[:32]


def payload(message: Message) -> str:
    """What the phone shows, in the form that some browsers show by themselves and our page's worker reads too."""
    text = _payload(message, message.body)
    if len(text.encode()) > LARGEST_TEXT:
        text = _payload(message, message.body[:SHORTENED].encode()[:SHORTENED].decode(errors="ignore") + "…")
    return text


def _payload(message: Message, body: str) -> str:
    shown = {"title": message.title, "body": body, "navigate": message.link, "tag": message.thread or message.id}
    return json.dumps({"web_push": DECLARATIVE, "notification": shown}, ensure_ascii=False)
