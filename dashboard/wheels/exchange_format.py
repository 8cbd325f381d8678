"""The file in which a whole book goes out and comes in: its lines, as text and back; pure.

A file `book.jsonl` in UTF-8, one JSON object a line. `line` says what it is:

- `book`: the first line: `version` of this format (1), `made_at`, and how many lines of each kind follow.
- `place`: a place that the book refers to or that lies above one: id, name, kind, parent_id, position, assumed air.
- `entry`: something that a person entered: id (UUIDv7 made on the phone), kind, what it is about (wheel_id, make_id,
  place_id, gear_id, style_id), group_id, who, happened_at, done_at, sent_at, received_at, zone, typed_time, replaces,
  body. The form of each kind's body is the program's own entry form; its JSON schema stands in `entries.schema.json`.
- `photo`: id, content_hash, small_hash, source_hash, width, height, bytes, who, received_at. The files lie beside it
  in `photos/`, each named by the SHA-256 of its bytes and `.jpg`.
- `label`: a short code, what it stands on, since when.
- `forecast`: what was foretold of a wheel, and what came.
- `end`: the last line; without it the file was cut off.

Times are RFC 3339 in UTC to the millisecond, weights grams, temperatures degC, volumes litres. What is made from
entries (wheels, stays, weights, flags) is not in the file: it is made anew.
"""

import json
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from collector.errors import EntryRefused

VERSION = 1
TIMES = frozenset(
    ["happened_at", "done_at", "sent_at", "received_at", "given_at", "made_at", "due_at", "came_at", "closed_at"]
)
KINDS = ("place", "entry", "photo", "label", "forecast")
MAX_LINE_BYTES = 2_000_000


def as_line(kind: str, values: Mapping[str, Any]) -> str:
    """One line of the file, without its end."""
    plain = {name: _text_of(value) if isinstance(value, datetime) else value for name, value in values.items()}
    text = json.dumps({"line": kind, **plain}, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    # Some programs end a line at these too.
    return text.translate({0x85: "\\u0085", 0x2028: "\\u2028", 0x2029: "\\u2029"})


def _text_of(at: datetime) -> str:
    return at.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def read_line(text: bytes, number: int) -> tuple[str, dict[str, Any]]:
    """Kind and values of one line, times as aware datetimes.

    Raises:
        EntryRefused: it is no such line; names its number.
    """
    if len(text) > MAX_LINE_BYTES:
        raise EntryRefused("file", f"line {number} is longer than {MAX_LINE_BYTES // 10**6} MB")
    try:
        values = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise EntryRefused("file", f"line {number} is no JSON: {str(error)[:120]}") from error
    if not isinstance(values, dict) or not isinstance(values.get("line"), str):
        raise EntryRefused("file", f"line {number} does not say what it is")
    kind = values.pop("line")
    return kind, {name: _value(name, value, number) for name, value in values.items()}


def _value(name: str, value: Any, number: int) -> Any:
    if name not in TIMES or value is None:
        return value
    try:
        at = datetime.fromisoformat(value)
    except (TypeError, ValueError) as error:
        raise EntryRefused("file", f"line {number}: {name} is no time, got {str(value)[:40]!r}") from error
    if at.tzinfo is None:
        raise EntryRefused("file", f"line {number}: {name} has no zone, got {value!r}")
    return at.astimezone(UTC)


def header(made_at: datetime, counts: Mapping[str, int]) -> str:
    """The first line."""
    return as_line("book", {"version": VERSION, "made_at": made_at, "counts": dict(counts)})


def check_header(kind: str, values: Mapping[str, Any]) -> None:
    """Refuse a file that is no book, or of a newer form.

    Raises:
        EntryRefused: says which.
    """
    if kind != "book":
        raise EntryRefused("file", "the file is not a book: its first line is something else")
    version = values.get("version")
    if not isinstance(version, int) or version > VERSION:
        raise EntryRefused("file", f"the file has form {version}; this version reads up to {VERSION}")
