"""Where a wheel has been: place and covering, from when to when; pure."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from dashboard.wheels.bodies.doings import Covered, Moved
from dashboard.wheels.kinds.coverings import BARE
from dashboard.wheels.model import Entry


@dataclass(frozen=True, slots=True)
class Stay:
    """One stretch in one place under one covering; `to_at` None: still there, `place_id` None: not said where."""

    from_at: datetime
    to_at: datetime | None = None
    place_id: str | None = None
    spot: str = ""
    position: int | None = None
    covering: str = BARE
    coats: int = 1


def stays_of(entries: Sequence[Entry], begun: Stay | None = None, ended_at: datetime | None = None) -> list[Stay]:
    """The stays of one wheel, each ending where the next begins.

    Args:
        entries: the wheel's standing entries in order.
        begun: where a part or lifted piece began, from its parent.
        ended_at: when the wheel ended; what came after adds no stay.
    """
    found = [begun] if begun else []
    for entry in entries:
        if ended_at is not None and entry.happened_at > ended_at:
            break
        changed = _changed(found[-1] if found else Stay(entry.happened_at), entry)
        if changed is not None:
            _append(found, changed)
    if found and ended_at is not None:
        found[-1] = replace(found[-1], to_at=ended_at)
    return found


def _changed(now: Stay, entry: Entry) -> Stay | None:
    body = entry.body
    if isinstance(body, Moved):
        return replace(now, from_at=entry.happened_at, place_id=entry.place_id, spot=body.spot, position=body.position)
    if isinstance(body, Covered):
        coats = body.coats if body.covering != BARE else 1
        return replace(now, from_at=entry.happened_at, covering=body.covering, coats=coats)
    return None


def _append(found: list[Stay], stay: Stay) -> None:
    """Two changes at one moment are one stay; a stay in the same place and covering goes on."""
    if found and found[-1].from_at >= stay.from_at:
        stay = replace(stay, from_at=found.pop().from_at)
    if found and _same_air(found[-1], stay):
        stay = replace(stay, from_at=found.pop().from_at)
    elif found:
        found[-1] = replace(found[-1], to_at=stay.from_at)
    found.append(stay)


def _same_air(one: Stay, other: Stay) -> bool:
    return (one.place_id, one.covering, one.coats) == (other.place_id, other.covering, other.coats)


def stay_at(stays: Sequence[Stay], at: datetime) -> Stay | None:
    """Where the wheel was at a moment; None before its first stay and after its last."""
    for stay in stays:
        if stay.from_at <= at and (stay.to_at is None or at < stay.to_at):
            return stay
    return None
