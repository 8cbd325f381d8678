"""From confirmed lines to entries: the wheels that somebody already has come into the book."""

from collections.abc import Callable, Sequence
from datetime import datetime
from typing import Any

from dashboard.wheels.bodies.doings import Covered, Moved, Weighing
from dashboard.wheels.bodies.sheets import WheelSheet
from dashboard.wheels.entries import NewEntry
from dashboard.wheels.existing import Found


def entries_for(
    found: Sequence[Found], *, now_at: datetime, zone: str, make_id: Callable[[], str], unit_typed: str = ""
) -> list[NewEntry]:
    """The entries of some wheels: sheet, place, covering and weight of each, in that order.

    Args:
        found: as the person confirmed them; a blank field makes no entry.
        now_at: when they come into the book, which is also when they stood where they stand. zone: of the household.
        make_id: gives a new UUIDv7 each time.
        unit_typed: the unit that bare weights were read in, kept beside what was typed.
    """
    return [entry for one in found for entry in _of_one(one, now_at, zone, make_id, unit_typed)]


def _of_one(one: Found, now_at: datetime, zone: str, make_id: Callable[[], str], unit_typed: str) -> list[NewEntry]:
    wheel_id, group_id = make_id(), make_id()

    def entry(body: Any, **refs: str) -> NewEntry:
        common = {"id": make_id(), "wheel_id": wheel_id, "group_id": group_id, "done_at": now_at, "zone": zone}
        return NewEntry(**{**common, "body": body, "typed_time": True, **refs})

    names = ("code", "style_id", "made_on", "pieces", "diameter_mm", "notes")
    made = [entry(WheelSheet(**{name: one.value(name) for name in names if one.value(name) is not None}))]
    if one.value("place_id"):
        made.append(entry(Moved(), place_id=one.value("place_id")))
    if one.value("covering") not in {None, "bare"}:
        made.append(entry(Covered(covering=one.value("covering"))))
    if one.value("weight_g") is not None:
        typed = f"{one.fields['weight_g'].words} {unit_typed}".strip()[:120]
        weighing = Weighing(scale_g=one.value("weight_g"), typed=typed, pieces=1 if one.value("each") else None)
        made.append(entry(weighing))
    return made
