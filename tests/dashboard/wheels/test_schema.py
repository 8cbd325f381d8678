"""The book's own history of forms, beside that of the records in the same database."""

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import Engine, inspect, text

from collector.errors import SchemaTooNew
from collector.records.engine import open_records
from collector.records.migrate import migrate
from collector.records.tables import metadata as records
from dashboard.wheels import tables
from dashboard.wheels.schema import VERSION_TABLE, prepare_book


def test_the_migrations_end_in_the_tables_that_the_code_knows(any_book: Engine) -> None:
    with any_book.connect() as connection:
        options = {"include_object": lambda _t, name, kind, *_: kind != "table" or name in tables.metadata.tables}
        context = MigrationContext.configure(connection, opts=options)
        assert compare_metadata(context, tables.metadata) == []


def test_records_and_book_live_side_by_side() -> None:
    engine = open_records("sqlite://")
    prepare_book(engine)
    migrate(engine)
    prepare_book(engine)
    assert {"entry", "place", "records_version", VERSION_TABLE} <= set(inspect(engine).get_table_names())
    engine.dispose()


def test_no_table_is_named_twice() -> None:
    assert not set(records.tables) & set(tables.metadata.tables)


def test_a_book_of_a_newer_version_is_refused(book: Engine) -> None:
    with book.begin() as db:
        db.execute(text("UPDATE book_version SET version_num = '9999'"))
    with pytest.raises(SchemaTooNew, match="its form is 9999"):
        prepare_book(book)
