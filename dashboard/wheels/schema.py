"""Bring the wheel book up to its newest form; done by one starter, after the records."""

from pathlib import Path

from sqlalchemy import Engine

from collector.records.migrate import migrate

MIGRATIONS = Path(__file__).parent / "migrations"
VERSION_TABLE = "book_version"


def prepare_book(engine: Engine) -> None:
    """Run the migrations that the book lacks.

    Raises:
        SchemaTooNew: the book was written by a version that knows more migrations.
    """
    migrate(engine, MIGRATIONS, VERSION_TABLE)
