"""The book as tables for a spreadsheet, one CSV file each; they go out only.

A cell that a spreadsheet would take for a formula (it begins with = + - @ or a tab or carriage return, though not a
plain number) gets an apostrophe before it, which spreadsheets show as text.
"""

import csv
import io
import json
import re
import zipfile
from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Table, select

from collector.records.columns import from_ms
from collector.records.tables import place
from dashboard.wheels import tables

FORMULA = ("=", "+", "-", "@", "\t", "\r")
_NUMBER = re.compile(r"[+-]?\d+(\.\d+)?([eE][+-]?\d+)?")
SHEETS = ("wheel", "make", "style", "gear")
TABLES: tuple[Table, ...] = (
    tables.wheel,
    tables.make,
    tables.style,
    tables.gear,
    tables.own_kind,
    tables.stay,
    tables.entry,
    tables.photo,
    tables.label,
    tables.forecast,
    place,
)


def safe_cell(value: Any) -> Any:
    """A value as a spreadsheet may have it: times in RFC 3339, lists and objects as JSON, no formula."""
    if isinstance(value, datetime):
        return value.isoformat(timespec="milliseconds").replace("+00:00", "Z")
    if isinstance(value, dict | list):
        value = json.dumps(value, ensure_ascii=False)
    if isinstance(value, str) and value.startswith(FORMULA) and not _NUMBER.fullmatch(value):
        return f"'{value}"
    return value


def write_csv(out: io.TextIOBase, names: list[str], rows: Iterable[Mapping[str, Any]]) -> None:
    """Rows as CSV (RFC 4180), the names of the columns first."""
    writer = csv.writer(out)
    writer.writerow(names)
    for row in rows:
        writer.writerow([safe_cell(row.get(name)) for name in names])


def table_rows(connection: Connection, table: Table) -> tuple[list[str], Iterator[dict[str, Any]]]:
    """The columns and rows of a table as they go out: what a sheet says stands in columns of its own."""
    names = [c.name for c in table.c if c.name not in {"sheet", "digest"}]
    rows = connection.execute(select(table).order_by(*table.primary_key.columns)).mappings()
    if table.name not in SHEETS:
        return names, (dict(row) for row in rows)
    found = [dict(row) for row in rows]
    further = sorted({name for row in found for name in row["sheet"]} - set(names) - {"kind"})
    return [*names, *further], (_laid_out(row) for row in found)


def _laid_out(row: dict[str, Any]) -> dict[str, Any]:
    times = {name: _times(row[name]) for name in ("last", "notes") if name in row}
    return {**row.pop("sheet"), **row, **times}


def _times(kept: Mapping[str, int]) -> dict[str, str]:
    return {name: from_ms(ms).isoformat().replace("+00:00", "Z") for name, ms in kept.items()}


def write_tables(connection: Connection, file: zipfile.ZipFile, folder: str) -> None:
    """Every table as a CSV file of a zip file."""
    for table in TABLES:
        names, rows = table_rows(connection, table)
        with file.open(f"{folder}{table.name}.csv", "w") as raw, io.TextIOWrapper(raw, "utf-8-sig", newline="") as out:
            write_csv(out, names, rows)
