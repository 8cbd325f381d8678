"""The look-back in a process of its own, with its own limit of memory; it ends with its answer.

Years of air for one answer would stay in the dashboard's memory for good. Standard input: one line of JSON; standard
output: what was found as JSON, or null for a note that is not there.
"""

import json
import subprocess
import sys
from contextlib import closing
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from collector.errors import CaveError
from collector.readings.schema import open_reader
from dashboard.lookback.found import FOUND, Found

MODULE = "dashboard.lookback_child"
MEMORY_BYTES = 1_500 * 2**20  # address space; three years of five channels take a fifth of it
CPU_S = 60
WAIT_S = 60.0


class LookBackStopped(CaveError):
    """The child was stopped by its limits or fell over."""

    hint = "Try again; if it happens again, look what `rindwatch check` says."

    def __init__(self, why: str) -> None:
        super().__init__(f"the look-back was stopped: {why}")
        self.why = why


def look_back_in_child(readings_path: Path, records_at: str, note_id: str, now_at: datetime, zone: str) -> Found | None:
    """A note's look-back, reckoned in a child process; None if there is no such note.

    Raises:
        LookBackStopped: it took too long or too much memory.
        SchemaMissing, SchemaOlder, SchemaTooNew: no start of this version has prepared the readings.
    """
    open_reader(readings_path).close()  # here, where it is told in its own words
    asked = {
        "readings": str(readings_path),
        "records": records_at,
        "note": note_id,
        "now": now_at.isoformat(),
        "zone": zone,
    }
    try:
        done = subprocess.run(
            [sys.executable, "-m", MODULE], input=json.dumps(asked).encode(), capture_output=True, timeout=WAIT_S,
            check=False,
        )  # fmt: skip
    except subprocess.TimeoutExpired as error:
        raise LookBackStopped(f"it took longer than {WAIT_S:g} s") from error
    if done.returncode:
        last = done.stderr.decode(errors="replace").strip().splitlines()[-1:] or ["no word"]
        raise LookBackStopped("out of memory" if "MemoryError" in last[0] else last[0][:200])
    return None if done.stdout.strip() == b"null" else FOUND.validate_json(done.stdout)


def limit_process() -> None:
    """Take from this process what it has no use for; where the system has no such limits, the clock remains."""
    try:
        import resource
    except ImportError:
        return
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    resource.setrlimit(resource.RLIMIT_CPU, (CPU_S, CPU_S))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def answer(asked: dict[str, str]) -> bytes:
    """What was found, as JSON."""
    from collector.readings.reader import Readings
    from collector.records.engine import open_records, reading
    from dashboard.lookback_find import look_back
    from dashboard.lookback_read import Book

    engine = open_records(asked["records"])
    try:
        with closing(Readings(Path(asked["readings"]))) as readings, reading(engine) as db:
            book = Book(db, readings, datetime.fromisoformat(asked["now"]), ZoneInfo(asked["zone"]))
            found = look_back(book, asked["note"])
    finally:
        engine.dispose()
    return b"null" if found is None else FOUND.dump_json(found)


def main() -> None:
    asked = json.loads(sys.stdin.buffer.read())
    limit_process()
    sys.stdout.buffer.write(answer(asked))


if __name__ == "__main__":
    main()
