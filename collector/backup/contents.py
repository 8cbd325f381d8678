"""What is in a SQLite database, table by table: how many rows, and a digest that any changed value changes."""

import sqlite3
from collections.abc import Mapping
from contextlib import closing
from hashlib import sha256
from pathlib import Path

from collector.backup.form import Content

# Tables of millions of rows are summed up by the database itself. Whole numbers only: how a database adds up fractions
# has changed from version to version, and a backup may be read by another one.
SUMMED = {
    "reading": "SELECT channel, count(*), min(taken_ms), max(taken_ms), sum(taken_ms % 1000003), sum(lag_ms % 1000003),"
    " sum(unit), sum(mark), sum(CAST(value * 1024 AS INTEGER) % 1000003 * (taken_ms % 1009))"
    " FROM reading GROUP BY channel",
    "rollup": "SELECT channel, count(*), min(start_ms), max(start_ms), sum(start_ms % 1000003), sum(count), sum(unit),"
    " sum(covered_ms){later}, sum(CAST(mean * 1024 AS INTEGER) % 1000003 * (start_ms % 1009)),"
    " sum(CAST(low * 1024 AS INTEGER) % 1000003), sum(CAST(high * 1024 AS INTEGER) % 1000003)"
    " FROM rollup GROUP BY channel",
}
LATER = {"rollup": {"spread": ", count(spread), sum(CAST(spread * 1048576 AS INTEGER) % 1000003)"}}
"""Columns that copies from before do not have, and how they are summed up where they are."""
ROWS_AT_ONCE = 1_000


def contents(path: Path) -> dict[str, Content]:
    """The content of every table of a database that nobody writes to.

    Raises:
        sqlite3.DatabaseError: it is no database, or damaged so that a row cannot be read.
    """
    with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)) as db:
        return {table: _content(db, table) for table in tables(db)}


def tables(db: sqlite3.Connection) -> list[str]:
    """The names of all tables, the database's own notes aside."""
    rows = db.execute("SELECT name FROM sqlite_schema WHERE type='table' AND name NOT LIKE 'sqlite\\_%' ESCAPE '\\'")
    return sorted(row[0] for row in rows)


def _content(db: sqlite3.Connection, table: str) -> Content:
    count = int(db.execute(f'SELECT count(*) FROM "{table}"').fetchone()[0])
    digest = sha256()
    rows = db.execute(_summed(db, table) or f'SELECT * FROM "{table}" ORDER BY {_key(db, table)}')
    while some := rows.fetchmany(ROWS_AT_ONCE):
        digest.update(repr(some).encode())
    return count, digest.hexdigest()


def _summed(db: sqlite3.Connection, table: str) -> str:
    """How a table of millions of rows is summed up, with the columns that it has; "" for one read row by row."""
    there = {column[1] for column in db.execute(f'PRAGMA table_info("{table}")')}
    later = "".join(sums for name, sums in LATER.get(table, {}).items() if name in there)
    return SUMMED.get(table, "").format(later=later)


def _key(db: sqlite3.Connection, table: str) -> str:
    """An order that does not hang on where rows happen to lie: the primary key, else every column."""
    columns = db.execute(f'PRAGMA table_info("{table}")').fetchall()
    keyed = sorted((column[5], column[1]) for column in columns if column[5])
    names = [name for _, name in keyed] or [column[1] for column in columns]
    return ", ".join(f'"{name}"' for name in names)


def differences(expected: Mapping[str, Content], found: Mapping[str, Content]) -> list[str]:
    """In words, which tables differ."""
    wrong = []
    for table in sorted(expected.keys() | found.keys()):
        if table not in found:
            wrong.append(f"the table {table} is missing")
        elif table not in expected:
            wrong.append(f"the table {table} is one too many")
        elif expected[table][0] != found[table][0]:
            wrong.append(f"the table {table} has {found[table][0]} rows, expected {expected[table][0]}")
        elif expected[table] != found[table]:
            wrong.append(f"the table {table} has other content in its {found[table][0]} rows")
    return wrong
