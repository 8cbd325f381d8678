"""The broker, the store and the second store: what the collector knows of itself, held against a grace."""

from datetime import datetime, timedelta

from collector.records.columns import to_ms
from collector.vigilance.findings import HOUSE, Finding, Look, View
from collector.vigilance.rules import BROKER_LOST, SECOND_STORE_BEHIND, STORE_REFUSING

BROKER_GRACE = timedelta(minutes=5)  # our choice: a broker that restarts is back by then
STORE_GRACE = timedelta(minutes=1)  # our choice: a disk may be busy for seconds
BEHIND_GRACE = timedelta(days=1)  # our choice: nothing is lost meanwhile, and most outages are over by then
CAUGHT_UP = timedelta(hours=1)  # a warning that is open stays until less than this is missing


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


def second_store(view: View) -> Look:
    """The database that follows, not complete for longer than its grace: away, not letting us in, or catching up."""
    second, is_open = view.handed.second, (SECOND_STORE_BEHIND.name, HOUSE) in view.open
    if second is None:
        return Look()
    since_at = second.complete_at or second.began_at
    if view.now - since_at < (CAUGHT_UP if is_open else BEHIND_GRACE):
        return Look()
    facts = {"since_ms": to_ms(since_at), "kind": second.state, "never": second.complete_at is None}
    return Look((Finding(SECOND_STORE_BEHIND, since_at, facts=facts),))
