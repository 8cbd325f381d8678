"""Phones that asked for notifications: what a browser hands us is checked before it is kept."""

import ipaddress
import os
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from urllib.parse import urlsplit

from sqlalchemy import Connection, select

from collector.errors import EntryRefused
from collector.notify.channels import add_channel, mark_of
from collector.notify.push_keys import TEST_CA, unbase64url
from collector.records.tables import notify_channel

LONGEST_ENDPOINT = 2_000
AUTH_BYTES = 16  # RFC 8291, section 3.2
POINT_BYTES = 65  # an uncompressed point of P-256, RFC 8291, section 3.1
NO_CONTACT = "mailto:rindwatch@rindwatch.invalid"
SESSION = "session"  # the option that names the sign-in
HOUSE_NAMES = (".local", ".localhost", ".arpa", ".internal")


@dataclass(frozen=True, slots=True)
class Subscription:
    """What a browser gives when it subscribes: where to send, and its keys."""

    endpoint: str
    p256dh: str
    auth: str


def checked_subscription(values: object) -> Subscription:
    """A subscription as the browser's own JSON has it.

    Args:
        values: {"endpoint": ..., "keys": {"p256dh": ..., "auth": ...}}.
    Raises:
        EntryRefused: an address or a key that no push service or browser would give.
    """
    # Loaded when a phone is taken on, and not with the pages.
    from cryptography.hazmat.primitives.asymmetric import ec

    outer: dict[str, Any] = values if isinstance(values, dict) else {}
    given = outer.get("keys")
    keys: dict[str, Any] = given if isinstance(given, dict) else {}
    endpoint, p256dh, auth = str(outer.get("endpoint", "")), str(keys.get("p256dh", "")), str(keys.get("auth", ""))
    _refuse_endpoint(endpoint)
    try:
        ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), unbase64url(p256dh))
        whole = len(unbase64url(auth)) == AUTH_BYTES and len(unbase64url(p256dh)) == POINT_BYTES
    except ValueError:
        whole = False
    if not whole:
        raise EntryRefused("keys", "The phone's keys for notifications cannot be used; switch them off and on again.")
    return Subscription(endpoint, p256dh, auth)


def _refuse_endpoint(endpoint: str) -> None:
    """Only https and only what may lie in the open internet; names are looked up when a message is sent."""
    try:
        parts = urlsplit(endpoint)
        host, secure = parts.hostname or "", parts.scheme == "https" and parts.username is None
    except ValueError:
        host, secure = "", False
    if not host or not secure or len(endpoint) > LONGEST_ENDPOINT or any(ord(sign) < 33 for sign in endpoint):
        raise EntryRefused("endpoint", "The address for notifications must begin with https.")
    try:
        in_the_open = ipaddress.ip_address(host).is_global
    except ValueError:
        in_the_open = "." in host.strip(".") and not host.endswith(HOUSE_NAMES)
    if not in_the_open and not os.environ.get(TEST_CA):
        raise EntryRefused("endpoint", "The address for notifications must lie in the open internet.")


def subscribe(
    connection: Connection,
    subscription: Subscription,
    now: datetime,
    *,
    person_id: str | None,
    device: str,
    origin: str,
    contact: str = "",
    session: str = "",
) -> str:
    """Add a phone's subscription, or bring it up to date; returns the channel's id.

    Args:
        origin: of the page that subscribed, for the links in messages.
        session: of the sign-in that asked; the subscription ends with it.
        contact: whom a push service may write to (mailto: or https:); the origin stands in when it is https.
    """
    if not contact:
        contact = origin if urlsplit(origin).scheme == "https" else NO_CONTACT
    options = {
        "endpoint": subscription.endpoint, "p256dh": subscription.p256dh, "auth": subscription.auth,
        "origin": origin, "contact": contact, SESSION: session,
    }  # fmt: skip
    mark = mark_of(subscription.endpoint)
    return add_channel(connection, "push", device or "a phone", options, now, person_id=person_id, mark=mark)


def subscribed(connection: Connection, endpoint: str) -> str | None:
    """The channel of an endpoint that is in use, for a page that compares it with its own; None when there is none."""
    own = notify_channel.c.mark == mark_of(endpoint)
    found = connection.execute(select(notify_channel.c.id).where(own, notify_channel.c.removed_at.is_(None))).scalar()
    return None if found is None else str(found)
