"""A log's file, read a few rows at a time."""

import csv
import io
import json
from collections import Counter
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from itertools import islice
from pathlib import Path

from collector.importing.csv_form import LogForm, Row, form_from, rows
from collector.readings.model import Arrival, Reject

ENDING = ".csv"
FORM_ENDING = ".form.json"
ROWS_A_STEP = 2_000  # our choice: one commit of this size takes a few hundredths of a second from the live readings


@dataclass(frozen=True, slots=True)
class Batch:
    """What some rows gave, and how far into the file they reach [bytes]."""

    arrivals: tuple[Arrival | Reject, ...]
    read_bytes: int


def form_path(path: Path) -> Path:
    """Where a log's description lies."""
    return path.with_name(path.name + FORM_ENDING)


def write_form(path: Path, form: LogForm) -> None:
    """Say how a log is written, beside it; under another name first, so that nobody reads half of it."""
    half = path.with_name(path.name + ".part")
    half.write_text(json.dumps(asdict(form)))
    half.replace(form_path(path))


def read_form(path: Path) -> LogForm:
    """How a log is written.

    Raises:
        EntryRefused: its description cannot be used.
    """
    try:
        found = json.loads(form_path(path).read_bytes())
    except (ValueError, RecursionError):
        found = {}
    return form_from(found if isinstance(found, dict) else {})


def batches(path: Path, form: LogForm, now_ms: int) -> Iterator[Batch]:
    """The rows of a log as messages of its probe, some at a time."""
    with path.open("rb") as raw:
        text = io.TextIOWrapper(raw, form.encoding, errors="replace", newline="")
        found = rows(_cells(text, form.delimiter), form, now_ms)
        while step := list(islice(found, ROWS_A_STEP)):
            yield Batch(_arrivals(step, form, now_ms), raw.tell())


def _cells(text: io.TextIOWrapper, delimiter: str) -> Iterator[list[str]]:
    """Rows as cells; what the parser refuses is an unreadable row, not the end."""
    parser = csv.reader((line.replace("\0", "") for line in text), delimiter=delimiter)
    while True:
        try:
            yield next(parser)
        except StopIteration:
            return
        except csv.Error:
            yield ["?"]


def _arrivals(step: list[Row], form: LogForm, now_ms: int) -> tuple[Arrival | Reject, ...]:
    samples = tuple(sample for row in step for sample in row.samples)
    found: list[Arrival | Reject] = [Arrival(form.probe, form.topic, now_ms, samples)] if samples else []
    for reason, count in Counter(row.refused for row in step if row.refused).items():
        found += [Reject(f"import of {form.probe}", f"old log: {reason}", b"", now_ms)] * count
    return tuple(found)
