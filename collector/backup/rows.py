"""All rows of the records from one database engine to another, so that a backup is the same file for each."""

from collections.abc import Sequence
from pathlib import Path

from sqlalchemy import Connection, Engine, MetaData, RowMapping, Table, func, insert, select
from sqlalchemy.exc import SQLAlchemyError

from collector.errors import NotPrepared
from collector.prepare import prepare_records
from collector.records.engine import open_records

AT_ONCE = 1_000


def copy_rows(source: Engine, target: Engine) -> int:
    """Copy every table into an empty, prepared database; all or nothing.

    Returns:
        How many rows were written.
    Raises:
        NotPrepared: the target holds rows already, or one of the two has tables that the other lacks.
    """
    into, have = MetaData(), MetaData()
    into.reflect(target)
    have.reflect(source)
    if set(into.tables) != set(have.tables):
        odd = sorted(set(into.tables) ^ set(have.tables))
        raise NotPrepared(target.url.render_as_string(), f"the two databases differ in the table {odd[0]}")
    copied = 0
    snapshot = {"isolation_level": "REPEATABLE READ"} if source.dialect.name == "postgresql" else {}
    options = snapshot | {"rindwatch_readonly": True}
    with source.connect().execution_options(**options) as reader, reader.begin(), target.begin() as writer:
        for table in into.sorted_tables:
            if table.name.endswith("_version"):
                continue  # both are prepared: the migrations have written it
            if writer.execute(select(func.count()).select_from(table)).scalar():
                raise NotPrepared(target.url.render_as_string(), f"its table {table.name} is not empty")
            copied += _copy_table(reader, writer, have.tables[table.name], table)
    return copied


def copy_into(file: Path, url: str) -> int:
    """Copy restored records into a database that is empty; its tables are made first. Else as `copy_rows`.

    Raises:
        NotPrepared: also when the database does not answer.
    """
    source, target = open_records(f"sqlite:///{file}"), open_records(url)
    try:
        prepare_records(target)
        return copy_rows(source, target)
    except SQLAlchemyError as error:
        raise NotPrepared(target.url.render_as_string(), str(error).splitlines()[0]) from error
    finally:
        source.dispose()
        target.dispose()


def _copy_table(reader: Connection, writer: Connection, source: Table, target: Table) -> int:
    names = [column.name for column in target.columns]
    rows = reader.execute(select(*(source.c[name] for name in names))).mappings()
    above = [column.name for column in target.columns if any(key.column.table is target for key in column.foreign_keys)]
    copied = 0
    for some in [_upper_first(rows.all(), above[0])] if above else rows.partitions(AT_ONCE):
        if some:
            writer.execute(insert(target), [dict(row) for row in some])
        copied += len(some)
    return copied


def _upper_first(rows: Sequence[RowMapping], above: str) -> list[RowMapping]:
    """Rows of a table that points at itself, in an order in which each can be written after the one that it names."""
    waiting, done, known = list(rows), list[RowMapping](), {None}
    while waiting:
        ready = [row for row in waiting if row[above] in known] or waiting
        done += ready
        known |= {row["id"] for row in ready}
        waiting = [row for row in waiting if row["id"] not in known]
    return done
