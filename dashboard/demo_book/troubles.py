"""What the invented keeper saw on the rinds: some of it followed from the air, some from a vat, some from neither.

Delays and misses are invented data: mould shows one to two and a half weeks after the damp begins, cracks some days
after the dry, and now and then a wheel that stood in the same air stays clean.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from collector.demo.incidents import Incident, IncidentKind
from collector.demo.wheels import Wheel
from dashboard.demo_book.diary import Diary
from dashboard.demo_book.vats import Vat, at_of
from dashboard.wheels.kinds.coverings import COVERINGS

STAYS_CLEAN = 0.25  # share of the wheels that get through an incident without a note
LASTS_D = 21  # until brushing has it gone
NEITHER = 0.12  # of the wheels show something that no incident explains


@dataclass(frozen=True, slots=True)
class Trouble:
    """One rind note: when it was first seen, when it was gone (None: not yet), and what stands in it."""

    day: date
    gone: date | None
    note: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Follows:
    """What an incident leaves on a rind: which note, how many days later it is seen, where and in what words."""

    note: str
    from_d: int
    to_d: int
    where: str
    text: str
    under_cloth: bool = True


FOLLOWS: Mapping[IncidentKind, Follows] = {
    IncidentKind.DAMP_SPELL: Follows("black_spots", 7, 18, "upper face", "Small dark spots, a few at first."),
    IncidentKind.HUMIDIFIER_DRY: Follows("crack", 3, 9, "along the edge", "A fine crack, not deep.", False),
}


@dataclass(frozen=True, slots=True)
class FromVat:
    """A note that every wheel of a make showed, wherever it stood; `age_d` is that of the first."""

    note: str
    age_d: int
    where: str
    text: str


# By the number of the make, counted from the oldest.
FROM_VATS: Mapping[int, FromVat] = {
    3: FromVat("late_blown", 108, "both faces", "Both faces domed; it sounds hollow."),
    6: FromVat("yellow_red_spots", 24, "sides", "Yellow spots all round, on both wheels of this milk."),
    9: FromVat("red_brown_spots", 19, "upper face", "Reddish spots; the other wheel has them too."),
    17: FromVat("weeping", 9, "underside", "Whey on the board every morning."),
}
ODD = (("bare_patch", "where it lay on the board"), ("grey_rind", "all over"), ("soft_spot", "near the edge"))


def troubles_of(diary: Diary, vat: Vat, wheel: Wheel, incidents: Sequence[Incident]) -> list[Trouble]:
    """The rind notes of one wheel, in order of time."""
    drawn = diary.chance(f"trouble/{wheel.code}")
    found = [trouble for incident in incidents if (trouble := _after(drawn, wheel, incident)) is not None]
    own = FROM_VATS.get(vat.number)
    if own is not None:
        day = at_of(wheel.made_ms).date() + timedelta(days=own.age_d + int(drawn.integers(0, 5)))
        found += _noted(wheel, day, drawn, {"note": own.note, "where": own.where, "text": own.text})
    if drawn.random() < NEITHER:
        note, where = ODD[int(drawn.integers(0, len(ODD)))]
        day = at_of(wheel.made_ms).date() + timedelta(days=int(drawn.integers(12, 60)))
        found += _noted(wheel, day, drawn, {"note": note, "where": where})
    return sorted(found, key=lambda trouble: trouble.day)


def _after(drawn: Any, wheel: Wheel, incident: Incident) -> Trouble | None:
    """What an incident left on a wheel that stood in it, or None."""
    row = FOLLOWS.get(incident.kind)
    chance, delay_d = float(drawn.random()), int(drawn.integers(row.from_d, row.to_d)) if row else 0
    if row is None or chance < STAYS_CLEAN or not _stood_in(wheel, incident):
        return None
    covering = COVERED_AS[wheel.covering_at(incident.from_ms)]
    if COVERINGS[covering].air_free or (COVERINGS[covering].hides and not row.under_cloth):
        return None
    day = at_of(incident.from_ms).date() + timedelta(days=delay_d)
    noted = _noted(wheel, day, drawn, {"note": row.note, "where": row.where, "text": row.text})
    return noted[0] if noted else None


COVERED_AS: Mapping[str, str] = {
    "bare": "bare",
    "cloth with fat": "cloth_fat",
    "foil": "foil",
    "two-ply paper": "two_ply",
    "breathable bag": "breathable_bag",
    "wax": "wax",
}
"""The simulation's coverings as the book calls them."""


def _stood_in(wheel: Wheel, incident: Incident) -> bool:
    """A day in it counts: a wheel that came at its very end is none of its wheels."""
    from_ms = max(incident.from_ms, wheel.made_ms)
    return wheel.is_there(from_ms) and from_ms < incident.to_ms and wheel.place_at(from_ms) == incident.place


def _noted(wheel: Wheel, day: date, drawn: Any, note: dict[str, Any]) -> list[Trouble]:
    gone_at = None if wheel.gone_ms is None else at_of(wheel.gone_ms).date()
    if gone_at is not None and day >= gone_at:
        return []
    fields = {**note, "how_much": int(drawn.integers(1, 4)), "how_bad": int(drawn.integers(1, 3)), "first_seen_on": day}
    gone = day + timedelta(days=LASTS_D + int(drawn.integers(0, 9)))
    return [Trouble(day, None if gone_at is not None and gone >= gone_at else gone, fields)]
