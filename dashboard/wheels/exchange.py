"""The whole book out and in: JSON Lines, photos, and tables for a spreadsheet, in one zip file.

Export and import is also the way between SQLite and PostgreSQL. Importing twice changes nothing; what is here already
with other content is kept as it is here and named.
"""

import json
import zipfile
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from hashlib import sha256
from pathlib import Path
from typing import IO, Any

from pydantic import ValidationError
from sqlalchemy import JSON, Column, Connection, Engine, RowMapping, String, Table, insert, select
from sqlalchemy.sql.schema import ScalarElementColumnDefault

from collector.errors import EntryRefused
from collector.records.columns import Utc
from collector.records.engine import reading
from collector.records.tables import place
from dashboard.wheels import tables
from dashboard.wheels.csv_tables import write_tables
from dashboard.wheels.entries import NewEntry, row_digest
from dashboard.wheels.entry_kinds import BODY
from dashboard.wheels.exchange_format import KINDS, MAX_LINE_BYTES, as_line, check_header, header, read_line
from dashboard.wheels.flags import FLAGS
from dashboard.wheels.photo_files import HASH, keep_file, photo_path, whole
from dashboard.wheels.refresh import lock, rebuild

BOOK, SCHEMA, PHOTOS, TABLES = "book.jsonl", "entries.schema.json", "photos/", "tables/"
SOURCES: dict[str, Table] = {
    "place": place,
    "entry": tables.entry,
    "photo": tables.photo,
    "label": tables.label,
    "forecast": tables.forecast,
}
NOT_OUT = frozenset({"digest"})
KEYS = {"label": "code"}
HANDFUL = 500
MAX_PHOTO_BYTES = 25_000_000


@dataclass(slots=True)
class Imported:
    """What an import did, by kind of line: stored, the same already, kept as it is here; and what was wrong."""

    stored: Counter[str] = field(default_factory=Counter)
    same: Counter[str] = field(default_factory=Counter)
    conflicts: list[str] = field(default_factory=list)
    problems: list[str] = field(default_factory=list)


def export_book(engine: Engine, photos: Path, out: IO[bytes], made_at: datetime) -> Counter[str]:
    """Write the whole book to a zip file: lines, schema, photos and tables; how many lines of each kind.

    The book is read in one transaction, so that what comes in meanwhile is in it wholly or not at all.
    """
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, strict_timestamps=False) as file:
        with reading(engine) as connection:
            counts = Counter({kind: len(_ids(connection, kind)) for kind in KINDS})
            with file.open(BOOK, "w") as lines:
                for line in _lines(connection, counts, made_at):
                    lines.write(line.encode() + b"\n")
            hashes = _hashes(connection)
            write_tables(connection, file, TABLES)
        file.writestr(SCHEMA, json.dumps(BODY.json_schema(), indent=1))
        for content_hash in hashes:
            path = photo_path(photos, content_hash)
            if path.is_file():
                file.write(path, f"{PHOTOS}{content_hash}.jpg", zipfile.ZIP_STORED)
    return counts


def _lines(connection: Connection, counts: Mapping[str, int], made_at: datetime) -> Iterator[str]:
    yield header(made_at, counts)
    for kind in KINDS:
        for row in _rows(connection, kind):
            yield as_line(kind, {name: value for name, value in row.items() if name not in NOT_OUT})
    yield as_line("end", {})


def _ids(connection: Connection, kind: str) -> list[str]:
    key = SOURCES[kind].c[KEYS.get(kind, "id")]
    return list(connection.execute(select(key)).scalars())


def _rows(connection: Connection, kind: str) -> Iterator[RowMapping]:
    table = SOURCES[kind]
    if kind == "place":
        yield from _parents_first(connection)
        return
    rows = connection.execute(select(table).order_by(table.c[KEYS.get(kind, "id")]))
    yield from rows.mappings()


def _parents_first(connection: Connection) -> list[RowMapping]:
    """Places in an order in which each can be written: what lies above comes first."""
    waiting = list(connection.execute(select(place).order_by(place.c.id)).mappings())
    done: list[RowMapping] = []
    known: set[str | None] = {None}
    while waiting:
        ready = [row for row in waiting if row["parent_id"] in known] or waiting
        done += ready
        known |= {row["id"] for row in ready}
        waiting = [row for row in waiting if row["id"] not in known]
    return done


def _hashes(connection: Connection) -> list[str]:
    p = tables.photo.c
    rows = connection.execute(select(p.content_hash, p.small_hash)).all()
    return sorted({content_hash for row in rows for content_hash in row})


def import_book(engine: Engine, photos: Path, source: IO[bytes]) -> Imported:
    """Take in a whole book, all or nothing.

    Args:
        engine: of the book to take it into, which may hold entries already.
        photos: folder that photos go to; a photo whose bytes are not those it is named for is left out and named.
        source: a zip file as `export_book` writes it, or its book.jsonl alone.
    Raises:
        EntryRefused: it is no book, was cut off, or a line cannot be read; says which. Nothing is kept then.
    """
    done = Imported()
    if not zipfile.is_zipfile(source):
        source.seek(0)
        _take_lines(engine, source, done)
        return done
    with zipfile.ZipFile(source) as file:
        if BOOK not in file.namelist():
            raise EntryRefused("file", f"the file has no {BOOK} in it")
        # Photos first: a file too many does no harm, an entry whose photo is missing would.
        _take_photos(file, photos, done)
        with file.open(BOOK) as lines:
            _take_lines(engine, lines, done)
    _name_missing(engine, photos, done)
    return done


def _take_photos(file: zipfile.ZipFile, photos: Path, done: Imported) -> None:
    for info in file.infolist():
        name = info.filename.removeprefix(PHOTOS)
        content_hash = name.removesuffix(".jpg")
        if not info.filename.startswith(PHOTOS) or not HASH.fullmatch(content_hash):
            continue
        if info.file_size > MAX_PHOTO_BYTES:
            done.problems.append(f"photo {content_hash[:8]} is too large and was left out")
            continue
        if whole(photo_path(photos, content_hash), content_hash):
            continue
        data = file.read(info)
        # Named by its bytes, and a JPEG as we write them: nothing else is ever served as a photo.
        if keep_if(photos, data, content_hash) is None:
            done.problems.append(f"photo {content_hash[:8]} is not what its name says and was left out")


def keep_if(photos: Path, data: bytes, content_hash: str) -> str | None:
    """Keep a photo's file if its bytes are those it is named for and begin as a JPEG does; else None."""
    if sha256(data).hexdigest() != content_hash or not data.startswith(b"\xff\xd8\xff"):
        return None
    return keep_file(photos, data)


def _name_missing(engine: Engine, photos: Path, done: Imported) -> None:
    with reading(engine) as connection:
        missing = [h for h in _hashes(connection) if not photo_path(photos, h).is_file()]
    done.problems += [f"photo {content_hash[:8]} is named but has no file" for content_hash in missing]


def _take_lines(engine: Engine, lines: IO[bytes], done: Imported) -> None:
    with engine.begin() as connection:
        lock(connection)
        ended = False
        waiting: dict[str, list[dict[str, Any]]] = {kind: [] for kind in KINDS}
        for number, text in enumerate(iter(lambda: lines.readline(MAX_LINE_BYTES + 1), b""), 1):
            kind, values = read_line(text, number)
            if number == 1:
                check_header(kind, values)
                continue
            ended = kind == "end"
            if kind in waiting:
                waiting[kind].append(_checked(kind, values, number))
                if len(waiting[kind]) >= HANDFUL:
                    _take(connection, kind, waiting, done)
        if not ended:
            raise EntryRefused("file", "the file was cut off: its last line is missing")
        for kind in KINDS:
            _take(connection, kind, waiting, done)
        rebuild(connection)


def _checked(kind: str, values: dict[str, Any], number: int) -> dict[str, Any]:
    """The row of a line, in the form that the table has; an entry is read as a phone's would be."""
    columns = SOURCES[kind].c
    unknown = set(values) - set(columns.keys())
    if unknown:
        raise EntryRefused("file", f"line {number}: the {kind} has a word too many, {sorted(unknown)[0][:40]!r}")
    row = {c.name: values.get(c.name, _usual(c)) for c in columns if c.name not in NOT_OUT}
    for name, value in row.items():
        if not fits(columns[name], value):
            raise EntryRefused("file", f"line {number}: {name} of the {kind} cannot be {str(value)[:40]!r}")
    return _checked_entry(row, number) if kind == "entry" else row


def _usual(column: Column[Any]) -> Any:
    return column.default.arg if isinstance(column.default, ScalarElementColumnDefault) else None


def fits(column: Column[Any], value: Any) -> bool:
    """Whether a value can stand in a column: the databases differ in what they would make of another."""
    if value is None:
        return bool(column.nullable)
    if isinstance(column.type, JSON):
        return isinstance(value, dict | list)
    if isinstance(column.type, Utc):
        return isinstance(value, datetime)
    if isinstance(column.type, String):
        return isinstance(value, str) and len(value) <= (column.type.length or len(value)) and "\x00" not in value
    kind = column.type.python_type
    if isinstance(value, bool) or kind is bool:
        return isinstance(value, bool) and kind is bool
    return isinstance(value, int | float) if kind is float else isinstance(value, kind)


def _checked_entry(row: dict[str, Any], number: int) -> dict[str, Any]:
    sent = {name: row[name] for name in NewEntry.model_fields if name in row}
    try:
        new = NewEntry.model_validate(sent)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        where = ".".join(str(part) for part in first["loc"])
        raise EntryRefused("file", f"line {number}: entry {row.get('id')}: {where} {first['msg']}") from error
    sticky = [name for name in row["flags"] or () if isinstance(name, str) and name in FLAGS and FLAGS[name].sticky]
    return {**row, **row_digest(new), "flags": sticky}


def _take(connection: Connection, kind: str, waiting: dict[str, list[dict[str, Any]]], done: Imported) -> None:
    """Write what waits of one kind; places go first, because what lies below refers to them."""
    rows, waiting[kind] = waiting[kind], []
    if not rows:
        return
    table, key = SOURCES[kind], KEYS.get(kind, "id")
    column = table.c[key]
    known_rows = connection.execute(select(table).where(column.in_([row[key] for row in rows]))).mappings()
    known = {row[key]: dict(row) for row in known_rows}
    fresh: dict[str, dict[str, Any]] = {}
    for row in rows:
        here = known.get(row[key]) or fresh.get(row[key])
        if here is None:
            fresh[row[key]] = row
        elif all(here.get(name) == value for name, value in row.items() if name != "flags"):
            done.same[kind] += 1
        else:
            done.conflicts.append(f"{kind} {row[key]}")
    if fresh:
        connection.execute(insert(table), list(fresh.values()))
    done.stored[kind] += len(fresh)
