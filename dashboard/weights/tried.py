"""What would have been foretold on days that are past, so that a year of weighings tells at once how good this is."""

import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from sqlalchemy import Connection, Engine, select

from collector.readings.reader import Readings
from collector.records.columns import from_ms, to_ms
from collector.records.engine import reading
from dashboard.household import Household
from dashboard.household_kept import load
from dashboard.weights.around import DAY_MS, Around, look_around
from dashboard.weights.kept import Forecast, keep_tried, weighed_dry
from dashboard.weights.known import known
from dashboard.weights.told import KEPT_AHEAD_D, to_keep
from dashboard.wheels.book import Style, WheelBook, styles, weight_books, wheel_book, wheels
from dashboard.wheels.history import history_of
from dashboard.wheels.tables import forecast
from dashboard.wheels.tables import wheel as wheel_table
from dashboard.wheels.weight.score import what_came_g

EVERY_D = 30  # the same days for all wheels, so that the air of a place is read once for all
BACK_D = 1_095
APART = timedelta(days=15)  # a forecast nearer than that says the same
MEASURED = 0.5  # our choice: where the air was not measured, the wide interval would flatter the score
WHEELS_AT_ONCE = 100
SAME_G = 0.01


@dataclass(frozen=True, slots=True)
class Trial:
    """A wheel on a past day, from which weight its loss is counted, and what it weighed a month later [g]."""

    wheel_id: str
    at_ms: int
    start_g: float
    came_g: float


def try_past(engine: Engine, readings: Readings, now_at: datetime, for_s: float) -> tuple[int, int]:
    """Foretell wheels from past days, from what was known then, and keep each beside what came.

    Args:
        for_s: after so many seconds no other day is begun.
    Returns:
        How many were kept, and how many were left for another time.
    """
    until_s = time.monotonic() + for_s
    with reading(engine) as db:
        left = trials(db, now_at)
        around = look_around(db, readings.db, readings.channels(), now_at)
        household, own = load(db), {style.id: style for style in styles(db)}
    count = 0
    while left and time.monotonic() < until_s:
        at_ms = left[0].at_ms
        day, left = [one for one in left if one.at_ms == at_ms], [one for one in left if one.at_ms != at_ms]
        with reading(engine) as db:
            found = list(_foretold(db, _then(around, from_ms(at_ms)), day, own, household))
        with engine.begin() as db:
            count += sum(keep_tried(db, one, from_ms(at_ms), trial.came_g, now_at) for one, trial in found)
    return count, len(left)


def trials(db: Connection, now_at: datetime) -> list[Trial]:
    """What can be tried and was not, the latest day first: a wheel weighed before a day and again a month after."""
    done: dict[str, list[datetime]] = {}
    for row in db.execute(select(forecast.c.wheel_id, forecast.c.made_at)):
        done.setdefault(row.wheel_id, []).append(row.made_at)
    weighed = [wheel.id for wheel in wheels(db, wheel_table.c.start_g.is_not(None))]
    found: list[Trial] = []
    for first in range(0, len(weighed), WHEELS_AT_ONCE):
        for book in weight_books(db, weighed[first : first + WHEELS_AT_ONCE]):
            found += _of_wheel(book, done.get(book.wheel.id, []), now_at)
    return sorted(found, key=lambda one: (-one.at_ms, one.wheel_id))


def _of_wheel(book: WheelBook, done: Sequence[datetime], now_at: datetime) -> Iterator[Trial]:
    start = book.history.start
    if start is None:
        return
    weighed = weighed_dry(book.history)
    for at_ms in _days(to_ms(now_at)):
        came_g = what_came_g(weighed, at_ms + KEPT_AHEAD_D * DAY_MS)
        apart = all(abs(one - from_ms(at_ms)) > APART for one in done)
        if came_g is not None and apart and weighed[0][0] < at_ms and to_ms(start.at) < at_ms:
            yield Trial(book.wheel.id, at_ms, start.net_g, came_g)


def _days(now_ms: int) -> Iterator[int]:
    """Every thirtieth day whose forecast has come due, the latest first."""
    step = EVERY_D * DAY_MS
    latest = (now_ms - KEPT_AHEAD_D * DAY_MS) // step * step
    yield from range(latest, now_ms - BACK_D * DAY_MS, -step)


def as_of(book: WheelBook, at: datetime) -> WheelBook:
    """A wheel as the book would have had it, had nothing been entered of what happened from a time on."""
    entries = [entry for entry in book.entries if entry.happened_at < at]
    history = history_of(entries, book.history.origin)
    stood = history.now
    wheel = replace(book.wheel, place_id=stood.place_id if stood else None)
    return replace(book, wheel=wheel, history=history, entries=entries)


def _then(around: Around, at: datetime) -> Around:
    """The same air as it was known at a time; its probes' checks and doubts as they are known today."""
    return replace(around, now_at=at, months={}, airs={}, records={})


def _foretold(
    db: Connection, around: Around, day: Sequence[Trial], own: Mapping[str, Style], household: Household
) -> Iterator[tuple[Forecast, Trial]]:
    """Of the wheels of one day, those that something could have been said of."""
    for trial in day:
        book = wheel_book(db, trial.wheel_id)
        if book is None:
            continue
        then = as_of(book, around.now_at)
        found = known(db, around, then, own.get(then.wheel.style_id or ""), household)
        if found and found.past.known_share >= MEASURED and abs(found.start_g - trial.start_g) < SAME_G:
            yield to_keep(around, found), trial
