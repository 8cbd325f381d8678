"""Takes in files from the import folder, oldest name first, a little at a time.

A file of messages is JSON Lines: each line `["topic", <payload>]`, the payload a SenML pack or JSON object as a probe
would have sent it, with absolute times. Write it under another ending and rename it to `.jsonl` when it is whole.
"""

import hashlib
import json
import logging
import time
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from sqlalchemy import Engine

from collector.clock import Clock
from collector.intake.intake import Intake
from collector.intake.timing import Passage
from collector.readings.model import Arrival, Mark, Reject
from collector.readings.store import SqliteReadings
from collector.records.columns import to_ms
from collector.records.life import sign

log = logging.getLogger(__name__)

ENDING = ".jsonl"
LINES_A_STEP = 400  # our choice: one commit of this size takes a few milliseconds from the live readings
MOMENT_S = 0.25  # our choice: then the duties that follow live readings get their turn


@dataclass
class _Open:
    path: Path
    digest: str
    size: int
    lines: Iterator[bytes]
    read: int = 0
    rows: int = 0
    refused: int = 0


class ImportFolder:
    """The folder's files, each taken in once: what was taken in is known by its digest."""

    def __init__(self, folder: Path, store: SqliteReadings, records: Engine, clock: Clock, intake: Intake) -> None:
        self._folder, self._store, self._records, self._clock, self._intake = folder, store, records, clock, intake
        self._open: _Open | None = None

    def step(self) -> bool:
        """Take in lines for a moment; False when nothing waits."""
        until = time.monotonic() + MOMENT_S
        while time.monotonic() < until:
            if self._open is None:
                self._open = self._next()
            if self._open is None:
                return False
            lines = [line for line, _ in zip(self._open.lines, range(LINES_A_STEP), strict=False)]
            if lines:
                self._take(self._open, lines)
            else:
                self._finish(self._open)
        if self._open is not None:
            self._tell(self._open)
        return True

    def _next(self) -> _Open | None:
        for path in sorted(self._folder.glob(f"*{ENDING}")):
            digest = _digest(path)
            if self._store.was_taken_in(digest):
                self._put_away(path)
                continue
            return _Open(path, digest, path.stat().st_size, _lines(path))
        return None

    def _take(self, file: _Open, lines: list[bytes]) -> None:
        now_ms = to_ms(self._clock.now())
        arrivals = [self._read(line, now_ms) for line in lines if line.strip()]
        self._store.add(arrivals)
        file.read += sum(map(len, lines))
        file.rows += sum(len(a.samples) for a in arrivals if isinstance(a, Arrival))
        file.refused += sum(1 if isinstance(a, Reject) else len(a.refused) for a in arrivals)

    def _read(self, line: bytes, now_ms: int) -> Arrival | Reject:
        try:
            topic, payload = split_line(line)
            passage = Passage(topic, now_ms, retained=True, payload=payload)
        except ValueError as error:
            return Reject("import", f"a line must be [topic, payload]: {error}", line, now_ms)
        found = self._intake.read(passage)
        if isinstance(found, Reject):
            return found
        if not found.samples and not found.refused:
            return Reject(found.topic, "a line of an old log must tell its time", line, now_ms)
        return replace(
            found, payload=b"", samples=tuple(replace(s, mark=s.mark | Mark.IMPORTED) for s in found.samples)
        )

    def _finish(self, file: _Open) -> None:
        self._store.note_taken_in(file.digest, file.path.name, file.rows, file.refused, to_ms(self._clock.now()))
        log.info("import_done file=%s rows=%d refused=%d", file.path.name, file.rows, file.refused)
        self._put_away(file.path)
        self._open = None
        self._tell(file)

    def _put_away(self, path: Path) -> None:
        done = self._folder / "done"
        done.mkdir(exist_ok=True)
        path.replace(done / path.name)

    def _tell(self, file: _Open) -> None:
        """Where the import stands, for the pages."""
        waiting = [p for p in self._folder.glob(f"*{ENDING}") if p != file.path]
        left = sum(p.stat().st_size for p in waiting)
        facts = {
            "file": file.path.name,
            "read_bytes": file.read,
            "file_bytes": file.size,
            "files_left": len(waiting),
            "left_bytes": left + (file.size - file.read if self._open else 0),
            "rows": file.rows,
            "refused": file.refused,
        }
        sign(self._records, "import", self._clock.now(), facts)


def split_line(line: bytes) -> tuple[str, bytes]:
    """Topic and payload of a line `["topic", <payload>]`; the payload is left as it stands, for its own decoder.

    Raises:
        ValueError: the line is not of that form.
    """
    text = line.decode().strip()
    topic, end = json.JSONDecoder().raw_decode(text, 1) if text.startswith("[") else (None, 0)
    rest = text[end:].lstrip()
    if not isinstance(topic, str) or not rest.startswith(",") or not rest.endswith("]"):
        raise ValueError("it is not of that form")
    return topic, rest[1:-1].strip().encode()


def _lines(path: Path) -> Iterator[bytes]:
    with path.open("rb") as file:
        yield from file


def _digest(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
