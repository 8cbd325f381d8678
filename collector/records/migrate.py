"""Bring the records up to the newest form; done by one starter, under a file lock."""

from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from alembic.util.exc import CommandError
from sqlalchemy import Engine

from collector.errors import SchemaTooNew

MIGRATIONS = Path(__file__).parent.parent / "migrations"


def migrate(engine: Engine, scripts: Path = MIGRATIONS, version_table: str = "records_version") -> None:
    """Run the migrations that the database lacks.

    Raises:
        SchemaTooNew: the database was written by a version that knows more migrations.
    """
    config = Config()
    config.set_main_option("script_location", str(scripts))
    with engine.begin() as connection:
        config.attributes["connection"] = connection
        found = MigrationContext.configure(connection, opts={"version_table": version_table}).get_current_revision()
        directory = ScriptDirectory.from_config(config)
        _refuse_newer(directory, found, str(engine.url.database))
        command.upgrade(config, "head")


def _refuse_newer(directory: ScriptDirectory, found: str | None, path: str) -> None:
    if found is None:
        return
    try:
        directory.get_revision(found)
    except CommandError as error:
        raise SchemaTooNew(path, found, str(directory.get_current_head())) from error
