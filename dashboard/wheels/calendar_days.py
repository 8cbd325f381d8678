"""What the coming weeks ask for, as days for a calendar; pure.

One event a cave and day ("turn 12, brush 3"), one for each tasting, and one for the day from which a wheel is ripe.
An event keeps its name (uid) as long as it is the same thing on the same day. Whoever asks often hands in a `Keep`:
what a wheel asks for and what a day says is then made only where the facts behind it changed.
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any, Protocol, TypeVar

from dashboard.wheels.bodies.sheets import StyleSheet
from dashboard.wheels.care_plan import due, stretch
from dashboard.wheels.kinds.care import CARE_KINDS

HORIZON_D = 60
TO_DO: dict[str, str] = {
    "turned": "turn",
    "brushed": "brush",
    "patted": "pat down",
    "washed": "wash",
    "wiped": "wipe",
    "scraped": "scrape",
    "rubbed": "rub",
    "dry_salted": "salt",
    "brined": "brine",
    "oiled": "oil",
    "pierced": "pierce",
    "sprayed": "spray",
    "recoated": "coat",
    "rewrapped": "wrap",
    "weighed": "weigh",
    "looked": "look at",
}


@dataclass(frozen=True, slots=True)
class Planned:
    """What the calendar needs of a wheel.

    Args:
        cave_id, cave: the outermost place it stands in, "" and "" where it is not known.
        made_on: local date of making, or of when the book first heard of it.
        last_on: as for `care_plan.due`.
        changed_at: when anything about it was last entered.
    """

    wheel_id: str
    code: str
    cave_id: str
    cave: str
    style: StyleSheet
    made_on: date
    last_on: Mapping[str, date]
    changed_at: datetime
    covering: str = "bare"


@dataclass(frozen=True, slots=True)
class Day:
    """One all-day event: its name for good, its day, what it says, where it leads, and when that last changed."""

    uid: str
    on: date
    summary: str
    description: str
    path: str
    changed_at: datetime


Value = TypeVar("Value")


class Keep(Protocol):
    """Gives what was kept under a name for the same facts, else what `make` makes of them; see KeptByFacts."""

    def __call__(self, name: Hashable, facts: tuple[object, ...], make: Callable[[], Value]) -> Value: ...


def anew(name: Hashable, facts: tuple[object, ...], make: Callable[[], Value]) -> Value:  # noqa: ARG001
    """Keeps nothing."""
    return make()


@dataclass(frozen=True, slots=True)
class Ask:
    """A care that a wheel's plan asks for on a day, or late."""

    wheel: Planned
    on: date
    care: str
    late: bool


def days(
    planned: Sequence[Planned], today: date, today_at: datetime, horizon_d: int = HORIZON_D, keep: Keep = anew
) -> list[Day]:
    """The events from today on, in order.

    Args:
        planned: the living wheels that have a style.
        today: local date; today_at: when it began.
        horizon_d: how many days ahead.
        keep: keeps what a wheel asks for and what a day says.
    What is overdue stands today.
    """
    until = today + timedelta(days=horizon_d)
    rounds: dict[tuple[str, date], list[Ask]] = defaultdict(list)
    found: list[Day] = []
    for wheel in planned:
        for ask in _kept_asks(wheel, today, until, keep):
            if ask.care == "tasted":
                found.append(_tasting(wheel, ask.on, today_at if ask.late else wheel.changed_at))
            else:
                rounds[(wheel.cave_id, ask.on)].append(ask)
        found += _ripe(wheel, today, until)
    found += [_kept_round(tuple(asked), today, today_at, keep) for asked in rounds.values()]
    return sorted(found, key=lambda day: (day.on, day.uid))


def _kept_asks(wheel: Planned, today: date, until: date, keep: Keep) -> tuple[Ask, ...]:
    facts = (wheel, today, until)
    return keep(("asks", wheel.wheel_id), facts, lambda: tuple(_asked(wheel, today, until)))


def _kept_round(asked: tuple[Ask, ...], today: date, today_at: datetime, keep: Keep) -> Day:
    facts = (asked, today_at if asked[0].on == today else None)
    return keep(("round", asked[0].wheel.cave_id, asked[0].on), facts, lambda: _round(asked, today, today_at))


def _asked(wheel: Planned, today: date, until: date) -> Iterator[Ask]:
    """What the plan asks of a wheel: a missed care today and the next by its rhythm."""
    late = {d.care for d in due(wheel.style.plan, wheel.made_on, wheel.last_on, today, wheel.covering) if d.overdue}
    done = {**wheel.last_on, **dict.fromkeys(late, today)}
    for care in sorted(late):
        yield Ask(wheel, today, care, True)
    allowed = {d.care for d in due(wheel.style.plan, wheel.made_on, wheel.last_on, until, wheel.covering)}
    for on, care in stretch(wheel.style.plan, wheel.made_on, done, until):
        if on >= today and care in allowed:
            yield Ask(wheel, on, care, False)


def _round(asked: Sequence[Ask], today: date, today_at: datetime) -> Day:
    """What is to be done in one cave on one day."""
    first = asked[0]
    counts = Counter(ask.care for ask in asked)
    late = len({ask.wheel.wheel_id for ask in asked if ask.late})
    words = ", ".join(f"{_to_do(care)} {counts[care]}" for care in _in_order(counts))
    codes: dict[str, list[str]] = defaultdict(list)
    for ask in asked:
        codes[ask.care].append(ask.wheel.code or "(no code)")
    lines = [f"{_to_do(care)}: {', '.join(sorted(codes[care]))}" for care in _in_order(counts)]
    changed_at = max(ask.wheel.changed_at for ask in asked)
    return Day(
        uid=f"round-{first.wheel.cave_id or 'somewhere'}-{first.on:%Y%m%d}",
        on=first.on,
        summary=f"{first.wheel.cave or 'Cheese'}: {words}" + (f" ({late} overdue)" if late else ""),
        description="\n".join(lines),
        path="/round",
        changed_at=max(changed_at, today_at) if first.on == today else changed_at,
    )


def _in_order(counts: Mapping[str, Any]) -> list[str]:
    known = [care for care in TO_DO if care in counts]
    return known + sorted(set(counts) - set(known))


def _to_do(care: str) -> str:
    row = CARE_KINDS.get(care)
    return TO_DO.get(care, row.word if row else care.replace("_", " "))


def _tasting(wheel: Planned, on: date, changed_at: datetime) -> Day:
    age = (on - wheel.made_on).days
    return Day(
        uid=f"taste-{wheel.wheel_id}-{on:%Y%m%d}",
        on=on,
        summary=f"Taste {_name(wheel)}",
        description=f"{wheel.style.name}, {age} days old",
        path=f"/wheels/{wheel.wheel_id}",
        changed_at=changed_at,
    )


def _ripe(wheel: Planned, today: date, until: date) -> list[Day]:
    """The day from which a wheel is ripe, by its style's window."""
    if wheel.style.ripe_from_d is None:
        return []
    on = wheel.made_on + timedelta(days=wheel.style.ripe_from_d)
    if not today <= on <= until:
        return []
    to = wheel.style.ripe_to_d
    window = f", best by {wheel.made_on + timedelta(days=to):%Y-%m-%d}" if to is not None else ""
    description = f"{wheel.style.name}, {wheel.style.ripe_from_d} days old{window}"
    path = f"/wheels/{wheel.wheel_id}"
    return [Day(f"ripe-{wheel.wheel_id}", on, f"{_name(wheel)} is ripe", description, path, wheel.changed_at)]


def _name(wheel: Planned) -> str:
    return wheel.code or wheel.style.name
