"""How the copying of readings to a second store goes, for the pages."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from collector.records.life import Sign

FRESH = timedelta(minutes=5)  # our choice: what came within the last minutes counts as complete
SAME_PASS = timedelta(minutes=2)  # both signs are left every ten seconds, one after the other


@dataclass(frozen=True, slots=True)
class SecondStoreShown:
    """What is known of the second store.

    Args:
        state: complete, behind, away (it does not answer) or shut (it does not let us in).
        since_at: since when it is in that state. began_at: since when it is being filled.
        complete_at: up to when everything is there; None before the first time.
        behind_s: how much is missing. left_s: how long catching up still takes, None when that cannot be told.
        refused: readings and means that it will never take, for instance older ones than it keeps.
    """

    state: str
    since_at: datetime
    began_at: datetime
    complete_at: datetime | None
    behind_s: float
    left_s: float | None
    refused: int


def second_store_shown(signs: Mapping[str, Sign]) -> SecondStoreShown | None:
    """What the collector last said of it; None where there is no second store, or there no longer is one."""
    said, collector = signs.get("follower"), signs.get("collector")
    if said is None or collector is None or collector.at - said.at > SAME_PASS:
        return None
    facts = said.facts
    complete_at = _time(facts, "complete_at")
    began_at = _time(facts, "began_at") or said.at
    behind = said.at - (complete_at or began_at)
    state = str(facts.get("state"))
    if state not in ("away", "shut"):
        state = "complete" if complete_at is not None and behind < FRESH else "behind"
    since_at = _time(facts, "since") or said.at
    refused = int(facts.get("set_aside") or 0)
    return SecondStoreShown(
        state, since_at, began_at, complete_at, behind.total_seconds(), facts.get("left_s"), refused
    )


def _time(facts: Mapping[str, Any], name: str) -> datetime | None:
    text = facts.get(name)
    return datetime.fromisoformat(text) if isinstance(text, str) else None
