"""Each week the weight of every living wheel is foretold and kept, and what came is written beside."""

import logging
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta

from sqlalchemy import Connection, Engine

from collector.clock import Clock
from collector.readings.reader import Readings
from collector.records.engine import open_records, reading
from collector.settings import Settings
from dashboard.household_kept import load
from dashboard.weights.around import look_around
from dashboard.weights.kept import Forecast, compare, is_due, keep, past
from dashboard.weights.known import known
from dashboard.weights.told import to_keep
from dashboard.weights.tried import try_past
from dashboard.wheels import tables
from dashboard.wheels.book import styles, wheel_book, wheels

log = logging.getLogger(__name__)
LOOK_EVERY_S = 600.0
CHILD_WAIT_S = 900.0
TRY_EVERY, TRY_FOR_S = timedelta(days=1), 240.0


def keep_all(settings: Settings, now_at: datetime) -> tuple[int, int]:
    """Foretell every living wheel whose last forecast is a week old, and compare those that came due.

    Returns:
        How many forecasts were kept, and for how many it is newly known what came.
    """
    with _both(settings) as (engine, readings):
        kept = sum(_keep(engine, one, now_at) for one in _found(engine, readings, now_at))
        return kept, _compare_all(engine, now_at)


def try_all(settings: Settings, now_at: datetime, for_s: float = TRY_FOR_S) -> tuple[int, int]:
    """Foretell wheels from days that are past; see `tried.try_past`."""
    with _both(settings) as (engine, readings):
        return try_past(engine, readings, now_at, for_s)


@contextmanager
def _both(settings: Settings) -> Iterator[tuple[Engine, Readings]]:
    engine, readings = open_records(settings.records_at), Readings(settings.readings_path)
    try:
        yield engine, readings
    finally:
        readings.close()
        engine.dispose()


def _keep(engine: Engine, found: Forecast, now_at: datetime) -> bool:
    with engine.begin() as db:
        return keep(db, found, now_at)


def _found(engine: Engine, readings: Readings, now_at: datetime) -> Iterator[Forecast]:
    """One wheel at a time, each in a transaction of its own, so that nobody waits for all of them."""
    with reading(engine) as db:
        ids, household = waiting(db, now_at), load(db)
        around = look_around(db, readings.db, readings.channels(), now_at)
        own = {style.id: style for style in styles(db)}
    for wheel_id in ids:
        with reading(engine) as db:
            book = wheel_book(db, wheel_id)
            found = known(db, around, book, own.get(book.wheel.style_id or ""), household) if book else None
        if found is not None:
            yield to_keep(around, found)


def waiting(db: Connection, now_at: datetime) -> list[str]:
    """The living wheels that were weighed and have no forecast of this week."""
    c = tables.wheel.c
    alive = wheels(db, c.state == "alive", c.start_g.is_not(None))
    return [wheel.id for wheel in alive if is_due(db, wheel.id, now_at)]


def _compare_all(engine: Engine, now_at: datetime) -> int:
    with reading(engine) as db:
        ids = {one.wheel_id for one in past(db, now_at) if one.came_g is None}
    count = 0
    for wheel_id in sorted(ids):
        with engine.begin() as db:
            book = wheel_book(db, wheel_id)
            count += compare(db, book, now_at) if book else 0
    return count


class WeeklyKeeping:
    """Looks now and then whether a wheel waits, or a day has gone since past days were tried (an old notebook may have
    come in), and then lets a child of low priority do the work."""

    def __init__(
        self, engine: Engine, settings: Settings, clock: Clock, work: Callable[[Settings], bool] | None = None
    ) -> None:
        self._engine, self._settings, self._clock, self._work = engine, settings, clock, work or work_out
        self._left: frozenset[str] = frozenset()
        self._tried_at: datetime | None = None

    def step(self) -> bool:
        """True when a child worked something out."""
        ids, now_at = self._waiting(), self._clock.now()
        tried = self._tried_at is not None and now_at - self._tried_at < TRY_EVERY
        if (ids <= self._left and tried) or not self._settings.readings_path.exists():
            return False
        self._tried_at = now_at
        done = self._work(self._settings)
        # What still waits cannot be foretold as it is; it is tried again together with the next that comes.
        self._left = self._waiting()
        return done

    def _waiting(self) -> frozenset[str]:
        with reading(self._engine) as db:
            return frozenset(waiting(db, self._clock.now()))


def work_out(settings: Settings, wait_s: float = CHILD_WAIT_S, *, past_too: bool = True) -> bool:
    """Let a child foretell all that wait, and from past days where nobody waits for it; True when it did."""
    command = [sys.executable, "-m", "collector.cli", "weight", "--keep", *(["--try-past"] if past_too else [])]
    environment = os.environ | {"RINDWATCH_DATA": str(settings.data), "OPENBLAS_NUM_THREADS": "1"}
    try:
        done = subprocess.run(command, capture_output=True, timeout=wait_s, check=False, env=environment)
    except subprocess.TimeoutExpired:
        log.warning("weights_took_too_long")
        return False
    if done.returncode:
        log.warning("weights_not_kept error=%s", done.stderr.decode()[-300:])
    return done.returncode == 0
