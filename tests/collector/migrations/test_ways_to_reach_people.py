"""Records written before there were ways to reach people are brought up to date with everything in them."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from sqlalchemy import Engine, select, text

from collector.records.engine import open_records
from collector.records.migrate import MIGRATIONS, migrate
from collector.records.tables import metadata, outbox, warning


@pytest.fixture
def first_form(tmp_path: Path) -> Iterator[Engine]:
    """Records in their first form, with one warning whose message went."""
    engine = open_records(f"sqlite:///{tmp_path / 'records.sqlite3'}")
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    with engine.begin() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, "0001")
        connection.execute(
            text(
                "INSERT INTO warning (id, rule, severity, opened_at, found_at, found_late, facts)"
                " VALUES ('w', 'too_warm', 'warn', 1, 1, 0, '{}')"
            )
        )
        connection.execute(
            text(
                "INSERT INTO outbox (id, warning_id, kind, channel, title, body, path, created_at, next_at, attempts,"
                " sent_at, trouble) VALUES ('o', 'w', 'opened', 'c', 't', 'b', '', 1, 1, 1, 2, '')"
            )
        )
    yield engine
    engine.dispose()


def test_what_was_written_is_kept(first_form: Engine) -> None:
    migrate(first_form)
    with first_form.connect() as connection:
        assert connection.execute(select(warning.c.id)).scalars().all() == ["w"]
        [row] = connection.execute(select(outbox)).all()
    assert (row.title, row.severity, row.group_key, row.thread, row.dropped_at) == ("t", "warn", "", "", None)


def test_the_tables_are_as_the_code_has_them(first_form: Engine) -> None:
    migrate(first_form)
    with first_form.connect() as connection:
        context = MigrationContext.configure(connection)
        wanted = [one for one in compare_metadata(context, metadata) if one[0] != "remove_table"]
    assert wanted == []
