"""A wheel's weight for a notebook, by its code or label, from a data folder that may be in use.

    from dashboard.weights.notebook import open_wheel
    wheel = open_wheel("~/rindwatch-data", "24-07B")
    wheel.fit.k, wheel.fit.activity, wheel.fit.form       # what was learnt
    wheel.past.mean_pull_pa(wheel.fit.activity)           # driving pressure of its air so far [Pa]

    import numpy as np
    from dashboard.wheels.weight.forecast import foretold
    from dashboard.wheels.weight.to_come import Doubt, steady
    ahead = wheel.past.then(steady(12.0, 87.0, Doubt(2.0), (int(wheel.past.edges_ms[-1]), wheel.due_ms)))
    foretold(wheel.fit, ahead, np.array([wheel.due_ms])).middle_g

Only reads. The functions of `dashboard.wheels.weight` take plain arrays and say their units, ranges and sources.
"""

from datetime import datetime
from pathlib import Path

from collector.clock import SystemClock
from collector.readings.reader import Readings
from collector.records.engine import open_records, reading
from collector.settings import Settings
from dashboard.household_kept import load
from dashboard.weights.around import look_around
from dashboard.weights.known import Known, known
from dashboard.wheels.book import find, styles, wheel_book


def open_wheel(data: str | Path, code: str, now_at: datetime | None = None) -> Known | None:
    """All that is known of a wheel for its weight; None where it was never weighed.

    Args:
        data: the data folder. code: the wheel's own code or its label's. now_at: as if it were then, aware UTC.
    Raises:
        LookupError: no wheel of that code.
    """
    settings = Settings(data=Path(data).expanduser())
    engine, readings = open_records(settings.records_at), Readings(settings.readings_path)
    try:
        with reading(engine) as db:
            found = find(db, code)
            book = wheel_book(db, found[0].id) if found else None
            if book is None:
                raise LookupError(f"there is no wheel {code!r} in the book")
            around = look_around(db, readings.db, readings.channels(), now_at or SystemClock().now())
            own = {style.id: style for style in styles(db)}
            return known(db, around, book, own.get(book.wheel.style_id or ""), load(db))
    finally:
        readings.close()
        engine.dispose()
