"""Takes in files from the import folder, oldest name first, a little at a time.

A file of messages is JSON Lines: each line `["topic", <payload>]`, the payload a SenML pack or JSON object as a probe
would have sent it, with absolute times. Write it under another ending and rename it to `.jsonl` when it is whole.
A log is a `.csv` with its description beside it (`csv_file`); without a description it waits until somebody gives one.
"""

import hashlib
import json
import logging
import time
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

from sqlalchemy import Engine

from collector.clock import Clock
from collector.errors import EntryRefused
from collector.importing.csv_file import ENDING as CSV_ENDING
from collector.importing.csv_file import Batch, batches, form_path, read_form
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
TELL_EVERY_S = 2.0  # our choice: each telling costs a sync of the records' disk


@dataclass
class _Open:
    path: Path
    digest: str
    size: int
    batches: Iterator[Batch]
    read: int = 0
    rows: int = 0
    refused: int = 0
    aside: int = 0


class ImportFolder:
    """The folder's files, each taken in once: what was taken in is known by its digest."""

    def __init__(self, folder: Path, store: SqliteReadings, records: Engine, clock: Clock, intake: Intake) -> None:
        self._folder, self._store, self._records, self._clock, self._intake = folder, store, records, clock, intake
        self._open: _Open | None = None
        self._tell_from = 0.0

    def step(self) -> bool:
        """Take in lines for a moment; False when nothing waits."""
        until = time.monotonic() + MOMENT_S
        while time.monotonic() < until:
            if self._open is None:
                self._open = self._next()
            if self._open is None:
                return False
            batch = next(self._open.batches, None)
            if batch is not None:
                self._take(self._open, batch)
            else:
                self._finish(self._open)
        if self._open is not None and time.monotonic() >= self._tell_from:
            self._tell(self._open)
        return True

    def _next(self) -> _Open | None:
        for path in self._waiting():
            digest = _digest(path)
            if self._store.was_taken_in(digest):
                self._put_away(path)
                continue
            try:
                found = self._batches(path)
            except EntryRefused as refused:
                log.warning("import_not_read file=%s reason=%s", path.name, refused)
                form_path(path).unlink(missing_ok=True)
                continue
            return _Open(path, digest, path.stat().st_size, found)
        return None

    def _waiting(self) -> list[Path]:
        """Files that can be taken in, oldest name first."""
        logs = [path for path in self._folder.glob(f"*{CSV_ENDING}") if form_path(path).exists()]
        return sorted([*self._folder.glob(f"*{ENDING}"), *logs])

    def _batches(self, path: Path) -> Iterator[Batch]:
        now_ms = to_ms(self._clock.now())
        return batches(path, read_form(path), now_ms) if path.suffix == CSV_ENDING else self._messages(path)

    def _messages(self, path: Path) -> Iterator[Batch]:
        """The lines of a file of messages, some at a time."""
        read, found = 0, _lines(path)
        while lines := list(islice(found, LINES_A_STEP)):
            read += sum(map(len, lines))
            now_ms = to_ms(self._clock.now())
            yield Batch(tuple(self._read(line, now_ms) for line in lines if line.strip()), read)

    def _take(self, file: _Open, batch: Batch) -> None:
        stored = self._store.add(batch.arrivals)
        file.read = batch.read_bytes
        taken = stored.kept + stored.repeated + stored.conflicts
        file.rows += taken
        # The rejects say why the store did not take them: too old for what is kept one by one, or one probe too many.
        file.aside += sum(len(a.samples) for a in batch.arrivals if isinstance(a, Arrival)) - taken
        file.refused += sum(1 if isinstance(a, Reject) else len(a.refused) for a in batch.arrivals)

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
        imported = tuple(sample._replace(mark=sample.mark | Mark.IMPORTED) for sample in found.samples)
        return found._replace(payload=b"", samples=imported)

    def _finish(self, file: _Open) -> None:
        self._store.note_taken_in(file.digest, file.path.name, file.rows, file.refused, to_ms(self._clock.now()))
        log.info("import_done file=%s rows=%d refused=%d aside=%d", file.path.name, file.rows, file.refused, file.aside)
        self._put_away(file.path)
        self._open = None
        self._tell(file)

    def _put_away(self, path: Path) -> None:
        done = self._folder / "done"
        done.mkdir(exist_ok=True)
        if form_path(path).exists():
            form_path(path).replace(done / form_path(path).name)
        path.replace(done / path.name)

    def _tell(self, file: _Open) -> None:
        """Where the import stands, for the pages."""
        waiting = [p for p in self._waiting() if p != file.path]
        left = sum(p.stat().st_size for p in waiting)
        facts = {
            "file": file.path.name,
            "read_bytes": file.read,
            "file_bytes": file.size,
            "files_left": len(waiting),
            "left_bytes": left + (file.size - file.read if self._open else 0),
            "rows": file.rows,
            "refused": file.refused,
            "aside": file.aside,
        }
        sign(self._records, "import", self._clock.now(), facts)
        self._tell_from = time.monotonic() + TELL_EVERY_S


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
    """Of the file, and of the description beside it: the same log read in another way is another file."""
    with path.open("rb") as file:
        found = hashlib.file_digest(file, "sha256")
    if form_path(path).exists():
        found.update(form_path(path).read_bytes())
    return found.hexdigest()
