"""Works one wheel out in a process of its own, so that the pages stay quick and small.

Reads one JSON object from standard input, a question as `asking.ask` writes it; writes one JSON object, what is told.
"""

import json
import sys
from dataclasses import asdict
from datetime import date, datetime
from pathlib import Path
from typing import Any

from collector.readings.reader import Readings
from collector.records.engine import open_records, reading
from dashboard.household_kept import load
from dashboard.weights.around import look_around
from dashboard.weights.told import Told, Wish, told
from dashboard.wheels.book import styles

MEMORY_BYTES = 1_200 * 2**20  # address space; numpy's libraries take half of it before they begin
CPU_S = 30


def limit_process() -> None:
    """Take from this process what it has no use for; where the system has no such limits, the clock remains."""
    try:
        import resource
    except ImportError:
        return
    resource.setrlimit(resource.RLIMIT_CPU, (CPU_S, CPU_S))
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))


def answer(question: dict[str, Any]) -> Told | None:
    """What is told of the wheel that is asked for."""
    engine, readings = open_records(question["records"]), Readings(Path(question["readings"]))
    wish = Wish(
        question["cover_with"], question["aim_pct"], date.fromisoformat(question["on"]) if question["on"] else None
    )
    try:
        with reading(engine) as db:
            around = look_around(db, readings.db, readings.channels(), datetime.fromisoformat(question["now"]))
            own = {style.id: style for style in styles(db)}
            return told(db, around, question["wheel_id"], own, load(db), wish)
    finally:
        readings.close()
        engine.dispose()


def main() -> None:
    limit_process()
    found = answer(json.load(sys.stdin))
    json.dump(None if found is None else asdict(found), sys.stdout, allow_nan=False)


if __name__ == "__main__":
    main()
