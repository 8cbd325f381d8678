"""The broker, the store and the copies: what the collector knows of itself, held against a grace."""

from datetime import datetime, timedelta

from collector.records.columns import to_ms
from collector.vigilance.findings import HOUSE, Finding, Look, View
from collector.vigilance.rules import BROKER_LOST, COPY_OLD, STORE_REFUSING

BROKER_GRACE = timedelta(minutes=5)  # our choice: a broker that restarts is back by then
STORE_GRACE = timedelta(minutes=1)  # our choice: a disk may be busy for seconds
COPY_OLD_AFTER = timedelta(days=3)  # our choice: two nights missed


def broker(view: View, started_at: datetime) -> Look:
    """The connection to the probes' broker, lost for longer than its grace."""
    key = (BROKER_LOST.name, HOUSE)
    before = view.open.get(key)
    if view.handed.broker_connected:
        back_at = view.handed.broker_since_at or view.now
        lost_ms = None if before is None else before.facts.get("since_ms", to_ms(before.opened_at))
        return Look(ended={key: (back_at, {"gap_from_ms": lost_ms, "gap_to_ms": to_ms(back_at)})})
    lost_at = max(view.handed.broker_since_at or started_at, started_at)
    if before is None and view.now - lost_at < BROKER_GRACE:
        return Look()
    return Look((Finding(BROKER_LOST, lost_at, facts={"since_ms": to_ms(lost_at), "probes": len(view.probes)}),))


def store(view: View) -> Look:
    """The store of readings, refusing for longer than its grace."""
    since_at = view.handed.store_refusing_since_at
    if since_at is None or view.now - since_at < STORE_GRACE:
        return Look()
    facts = {"since_ms": to_ms(since_at), "reason": view.handed.store_reason}
    return Look((Finding(STORE_REFUSING, since_at, facts=facts),))


def copy(view: View, last_at: datetime | None, expected_since_at: datetime | None) -> Look:
    """The newest copy, too old.

    Args:
        last_at: when it was made, None when there is none. expected_since_at: since when copies should be made, None
            when nobody asked for any.
    """
    if expected_since_at is None or view.now - (last_at or expected_since_at) < COPY_OLD_AFTER:
        return Look()
    facts = {"last_ms": None if last_at is None else to_ms(last_at)}
    return Look((Finding(COPY_OLD, last_at or expected_since_at, facts=facts),))
