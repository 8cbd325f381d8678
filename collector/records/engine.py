"""The connection to the records: SQLite in rollback-journal mode, or PostgreSQL by URL."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, inspect, make_url

from collector.errors import SchemaMissing

BUSY_TIMEOUT_MS = 10_000


def open_records(url: str) -> Engine:
    """An engine whose every transaction takes the write lock at once, so that no two of them meet half-way."""
    if not url.startswith("sqlite"):
        return create_engine(url, pool_pre_ping=True)
    engine = create_engine(url, connect_args={"timeout": BUSY_TIMEOUT_MS / 1_000, "check_same_thread": False})
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "begin", _begin)
    return engine


def open_prepared(url: str) -> Engine:
    """The records of a place that a start has prepared; opening any other would leave an empty file behind.

    Raises:
        SchemaMissing: nothing was prepared there.
    """
    at = make_url(url)
    if at.get_backend_name() == "sqlite" and not Path(at.database or "").is_file():
        raise SchemaMissing(at.database)
    engine = open_records(url)
    with reading(engine) as connection:
        prepared = inspect(connection).has_table("setting")
    if not prepared:
        engine.dispose()
        raise SchemaMissing(at.database)
    return engine


def _prepare(connection: sqlite3.Connection, _record: Any) -> None:
    # The driver would begin transactions late and leave schema changes outside them.
    connection.isolation_level = None
    connection.execute("PRAGMA foreign_keys=ON")
    connection.execute("PRAGMA synchronous=FULL")


def _begin(connection: Connection) -> None:
    readonly = connection.get_execution_options().get("rindwatch_readonly", False)
    connection.exec_driver_sql("BEGIN" if readonly else "BEGIN IMMEDIATE")


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """A short transaction that only looks."""
    with engine.connect().execution_options(rindwatch_readonly=True) as connection, connection.begin():
        yield connection
