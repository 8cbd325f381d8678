"""What the care plans ask for on the days that somebody is away, shelf by shelf."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from dashboard.rounds.model import Round, Row
from dashboard.rounds.row_words import OwnWords, care_word
from dashboard.rounds.shelves import Looked
from dashboard.wheels.book import Style, Wheel, due_of
from dashboard.wheels.calendar_days import TO_DO
from dashboard.wheels.care_plan import stretch

Asked = list[tuple[date, str]]


@dataclass(frozen=True, slots=True)
class ToDo:
    """One care on one day: the word of what to do, and the codes of the wheels; `every`: all that stand there."""

    word: str
    codes: tuple[str, ...]
    every: bool


@dataclass(frozen=True, slots=True)
class ShelfDay:
    """What a shelf asks for on one day."""

    on: date
    to_do: tuple[ToDo, ...]


@dataclass(frozen=True, slots=True)
class ShelfPlan:
    """One shelf in the order of the round; days on which nothing is due are left out."""

    place_id: str
    name: str
    inside: str
    rows: tuple[Row, ...]
    days: tuple[ShelfDay, ...]


def shelf_plans(round_: Round, looked: Looked, from_on: date, to_on: date) -> tuple[ShelfPlan, ...]:
    """Every shelf with wheels, and what is due there from a day to a day, both inclusive.

    What is late stands on today while the days run; what is late or due before them counts as done before them.
    """
    plans = []
    for shelf in round_.shelves:
        if not shelf.rows:
            continue
        asked = {row.wheel.id: _asked(row.wheel, looked, from_on, to_on) for row in shelf.rows}
        days = _days(shelf.rows, asked, looked.own, from_on, to_on)
        plans.append(ShelfPlan(shelf.place_id, shelf.name, shelf.inside, shelf.rows, days))
    return tuple(plans)


def _asked(wheel: Wheel, looked: Looked, from_on: date, to_on: date) -> Asked:
    style = looked.styles.get(wheel.style_id or "")
    return asked_of(wheel, style, looked, from_on, to_on)


def asked_of(wheel: Wheel, style: Style | None, looked: Looked, from_on: date, to_on: date) -> Asked:
    """The days and cares that a wheel's plan asks for within a span, in order."""
    today, zone = looked.today, looked.household.zone
    now_due = due_of(wheel, style, today, zone)
    begun = wheel.last_at.get("begun")
    made_on = wheel.made_on or (begun.astimezone(zone).date() if begun else None)
    if style is None or made_on is None:
        return []
    late = {one.care for one in now_due if one.overdue}
    allowed = {one.care for one in (*now_due, *due_of(wheel, style, to_on, zone))}
    ahead = stretch(style.sheet.plan, made_on, {**wheel.last_on(zone), **dict.fromkeys(late, today)}, to_on)
    found = [(today, care) for care in sorted(late)] if from_on <= today <= to_on else []
    found += [(on, care) for on, care in ahead if from_on <= on and today <= on and care in allowed]
    return sorted(set(found))


def _days(
    rows: Sequence[Row], asked: Mapping[str, Asked], own: OwnWords, from_on: date, to_on: date
) -> tuple[ShelfDay, ...]:
    by_day: dict[date, dict[str, list[str]]] = defaultdict(dict)
    for row in rows:
        for on, care in asked[row.wheel.id]:
            by_day[on].setdefault(care, []).append(row.wheel.code or "no code")
    days = (from_on + timedelta(days=n) for n in range((to_on - from_on).days + 1))
    return tuple(
        ShelfDay(on, tuple(_to_do(care, by_day[on][care], own, len(rows)) for care in _in_order(by_day[on])))
        for on in days
        if by_day.get(on)
    )


def _in_order(cares: Mapping[str, list[str]]) -> list[str]:
    """As one does them: by the calendar's order, own kinds last."""
    order = list(TO_DO)
    return sorted(cares, key=lambda care: (order.index(care) if care in TO_DO else len(order), care))


def _to_do(care: str, codes: list[str], own: OwnWords, standing: int) -> ToDo:
    return ToDo(to_do_word(care, own), tuple(codes), len(codes) == standing > 1)


def to_do_word(care: str, own: OwnWords) -> str:
    """What to do, as one says it to somebody: "turn"."""
    return TO_DO.get(care) or {"tasted": "taste"}.get(care) or care_word(care, own)
