"""Look-back from a click to the page: three years of one-minute readings, five channels, 40 wheels, 60 notes.

The bar is 2 s cold, in a child process with its own limit of memory; beside it stand an empty Python process that
loads the same libraries and an empty page, taken in the same run.
"""

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine

from collector.records.columns import new_id
from collector.records.engine import open_records
from collector.records.facts import Placement
from collector.records.places import add_fact
from collector.settings import Settings
from dashboard.lookback_child import MODULE, look_back_in_child
from dashboard.wheels.bodies.doings import Care, Looked, Moved, RindNote
from dashboard.wheels.bodies.sheets import WheelSheet
from dashboard.wheels.entries import NewEntry, put
from dashboard.wheels.kinds.styles import STYLES
from tests.bench.stored_caves import NOW_AT, make_house

DAYS, WHEELS, CAVES = 3 * 365, 40, 3
RUNS = 5
KINDS = ("black_spots", "crack", "cat_hair")
LIBRARIES = "import numpy, sqlalchemy, pydantic"


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        settings, places = make_house(Path(folder), CAVES, DAYS)
        engine = open_records(settings.records_at)
        _surface(engine, places[0])
        note_id = _book(engine, places)
        engine.dispose()
        bare = min(_timed(_bare) for _ in range(RUNS))
        cold = sorted(_timed(lambda: _look_back(settings, note_id)) for _ in range(RUNS))
        print(f"{'what':44s} {'seconds':>8s} {'processor':>9s} {'ratio':>6s}")
        for word, (wall, cpu) in (
            ("a process that loads the libraries", bare),
            (f"look-back, cold, best of {RUNS}", cold[0]),
            (f"look-back, cold, worst of {RUNS}", cold[-1]),
        ):
            print(f"{word:44s} {wall:8.2f} {cpu:9.2f} {cpu / bare[1]:6.1f}")
        print(f"{'memory of the child at its most':44s} {_peak_mb(settings, note_id):8.0f} MB")


def _timed(do: Callable[[], None]) -> tuple[float, float]:
    """Seconds on the clock, and of a processor: on a busy machine only the second says something."""
    began, used = time.perf_counter(), os.times()
    do()
    after = os.times()
    return time.perf_counter() - began, sum(after[:4]) - sum(used[:4])


def _bare() -> None:
    subprocess.run([sys.executable, "-c", LIBRARIES], check=True)


def _look_back(settings: Settings, note_id: str) -> None:
    found = look_back_in_child(settings.readings_path, settings.records_at, note_id, NOW_AT, "Europe/Zurich")
    assert found is not None
    assert found.ranks


def _peak_mb(settings: Settings, note_id: str) -> float:
    asked = {
        "readings": str(settings.readings_path),
        "records": settings.records_at,
        "note": note_id,
        "now": NOW_AT.isoformat(),
        "zone": "Europe/Zurich",
    }
    code = f"import resource; from {MODULE} import answer; answer({asked!r}); " + (
        "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)"
    )
    done = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    return int(done.stdout) / 1024


def _surface(engine: Engine, place_id: str) -> None:
    """The second probe hangs in the first cave too, so that it has two of each, and its fifth channel is a surface."""
    since = NOW_AT - timedelta(days=DAYS + 1)
    with engine.begin() as db:
        add_fact(db, Placement(new_id(), since, since, "probe-1", "air", place_id))
        add_fact(db, Placement(new_id(), since, since, "probe-2", "surface", place_id, "temperature"))


def _book(engine: Engine, places: list[str]) -> str:
    """Wheels that stand for a year each, turned weekly, looked at fortnightly; 60 notes; the id of one is returned."""
    style_id = new_id()
    with engine.begin() as db:
        _enter(db, STYLES["tomme"], DAYS, style_id=style_id)
    note_id = ""
    for number in range(WHEELS):
        begun = DAYS - 30 - number * (DAYS - 400) // WHEELS
        wheel_id = new_id()
        with engine.begin() as db:
            _enter(db, WheelSheet(code=f"W{number}", style_id=style_id), begun, wheel_id=wheel_id)
            _enter(db, Moved(), begun, wheel_id=wheel_id, place_id=places[0])
            for ago in range(begun - 7, max(begun - 365, 1), -7):
                _enter(db, Care(care="turned"), ago, wheel_id=wheel_id)
            for ago in range(begun - 10, max(begun - 365, 1), -14):
                _enter(db, Looked(), ago, wheel_id=wheel_id)
            for again in range(2 if number % 2 else 1):
                note = RindNote(note=KINDS[number % len(KINDS)])
                note_id = _enter(db, note, begun - 60 - 100 * again, wheel_id=wheel_id)
    return note_id


def _enter(db: Connection, body: Any, days_ago: float, **about: Any) -> str:
    new = NewEntry(id=new_id(), done_at=NOW_AT - timedelta(days=days_ago), body=body, typed_time=True, **about)
    return put(db, new, received_at=NOW_AT, who="The keeper").id


if __name__ == "__main__":
    main()
