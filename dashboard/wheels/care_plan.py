"""Which care is due, from a style's plan in day counts; pure. Days are local dates, handed in."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from dashboard.wheels.bodies.sheets import PlanLine
from dashboard.wheels.history import EVERY_CARE, LEFT
from dashboard.wheels.kinds.coverings import BARE, COVERINGS

THROUGH_A_COVER = frozenset({"turned", "weighed", "tasted", "looked", "rewrapped", "recoated"})
"""What is still done to a wheel that is waxed, bagged or wrapped off from the air."""
FAR_AHEAD = date.max.toordinal()


@dataclass(frozen=True, slots=True)
class Due:
    """A care that the plan asks for: when it was or will be due, and how many times it was missed until today."""

    care: str
    on: date
    every_d: int
    missed: int

    @property
    def overdue(self) -> bool:
        return self.missed > 0


def due(
    plan: Sequence[PlanLine],
    made_on: date,
    last_on: Mapping[str, date],
    today: date,
    covering: str = BARE,
) -> list[Due]:
    """What is due next, one line for each care that the plan still asks for, the earliest first.

    Args:
        plan: lines of the style; a care may have several, for several ages.
        made_on: local date of making, from which ages count.
        last_on: when what was last done, by the names of `history.last_done`, as local dates; its "begun" is from
            when the book knows the wheel: nothing is missed before that.
        today: local date.
        covering: what the wheel is under; what cannot be done through it is not due.
    A care due today is not overdue: `missed` counts from tomorrow.
    """
    found = [_next(care, plan, made_on, last_on, today) for care in dict.fromkeys(line.care for line in plan)]
    kept = [d for d in found if d is not None and _can_be_done(d.care, covering)]
    return sorted(kept, key=lambda d: (d.on, d.care))


def _can_be_done(care: str, covering: str) -> bool:
    row = COVERINGS.get(covering)
    return row is None or not row.air_free or care in THROUGH_A_COVER


def _next(care: str, plan: Sequence[PlanLine], made_on: date, last_on: Mapping[str, date], today: date) -> Due | None:
    """What is due next of one care. Days are counted as numbers here: a round asks this for hundreds of wheels."""
    lines = sorted((line for line in plan if line.care == care), key=lambda line: line.from_d)
    made, done, begun = made_on.toordinal(), _last_of(care, last_on), last_on.get("begun")
    for number, line in enumerate(lines):
        opens, ends = made + line.from_d, made + line.to_d if line.to_d is not None else FAR_AHEAD
        if done is not None:
            on = max(opens, done + line.every_d)
        else:
            on = opens if begun is None else max(opens, begun.toordinal())
        if on < ends:
            missed = _missed(on, lines[number:], made, today.toordinal())
            return Due(care, date.fromordinal(on), line.every_d, missed)
    return None


def _last_of(care: str, last_on: Mapping[str, date]) -> int | None:
    """When a care was last done, or its missing left, as a day's number."""
    days = [last_on[name] for name in (care, LEFT + care, EVERY_CARE) if name in last_on]
    return max(days).toordinal() if days else None


def _missed(on: int, lines: Sequence[PlanLine], made: int, today: int) -> int:
    """How many times the lines asked for their care from a day on and before today."""
    missed = 0
    last: int | None = None
    for line in lines:
        if last is not None:
            on = max(made + line.from_d, last + line.every_d)
        days = (min(today, made + line.to_d) if line.to_d is not None else today) - on
        if days > 0:
            times = 1 + (days - 1) // line.every_d
            missed, last = missed + times, on + (times - 1) * line.every_d
    return missed


def stretch(
    plan: Sequence[PlanLine], made_on: date, last_on: Mapping[str, date], until: date
) -> list[tuple[date, str]]:
    """All days on which the plan asks for a care, until a date, if each is done on its day: (date, care) in order.

    For the calendar; what is overdue stands at the day on which it was due.
    """
    days: list[tuple[date, str]] = []
    for care in dict.fromkeys(line.care for line in plan):
        done = dict(last_on)
        while True:
            found = _next(care, plan, made_on, done, until)
            if found is None or found.on > until:
                break
            days.append((found.on, care))
            done[care] = found.on
    return sorted(days)
