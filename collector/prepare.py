"""Prepares the data folder: one starter at a time brings both databases up to the newest form."""

import os
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from importlib.metadata import entry_points

from filelock import FileLock
from sqlalchemy import Engine
from sqlalchemy.exc import SQLAlchemyError

from collector.database_code import NO_CODE, database_code
from collector.errors import NotPrepared
from collector.readings.schema import open_writer
from collector.records.engine import open_records
from collector.settings import Settings

MIGRATIONS = "rindwatch.migrations"  # entry points of other packages with tables in the records database
LOCK_TIMEOUT_S = 120


def prepare(settings: Settings) -> None:
    """Make the folders and migrate; safe to run again and from several processes at once.

    Raises:
        SchemaTooNew: a newer version wrote this folder.
        NotPrepared: disk or database do not take it; what was there is as it was.
    """
    try:
        make_folders(settings)
        with FileLock(settings.data / "prepare.lock", timeout=LOCK_TIMEOUT_S):
            open_writer(settings.readings_path).close()
            engine = open_records(settings.records_at)
            prepare_records(engine)
            engine.dispose()
    except (OSError, sqlite3.Error, SQLAlchemyError) as error:
        raise NotPrepared(settings.data, _reason(error)) from error


def _reason(error: Exception) -> str:
    if isinstance(error, OSError) and error.filename:
        return f"{error.filename}: {error.strerror}"
    said, code = str(error).splitlines()[0], database_code(error)
    return said if code == NO_CODE else f"{said} ({code})"


def make_folders(settings: Settings) -> None:
    """Make the data folder and those inside it, the secrets for their owner alone."""
    settings.data.mkdir(parents=True, exist_ok=True, mode=0o750)
    (settings.import_folder / "done").mkdir(parents=True, exist_ok=True)
    settings.secrets_folder.mkdir(exist_ok=True, mode=0o700)


def prepare_records(engine: Engine) -> None:
    """Bring the tables of the records, and those that other packages keep beside them, up to the newest form."""
    # Only here: the pages and the collector load this module too, and what migrations load stays in memory for good.
    from collector.records.migrate import migrate

    migrate(engine)
    for further in _further():
        further(engine)


def prepare_apart(settings: Settings) -> None:
    """Prepare in a process of its own: what migrations load would otherwise stay in memory for good.

    Raises:
        NotPrepared: it went wrong; the text says what.
    """
    environment = os.environ | {"RINDWATCH_DATA": str(settings.data), "RINDWATCH_RECORDS_URL": settings.records_url}
    command = [sys.executable, "-m", "collector.cli", "prepare"]
    done = subprocess.run(command, env=environment, capture_output=True, text=True, check=False)
    if done.returncode:
        # The other process has said it in these very words; they are not said twice.
        said = done.stderr.strip().removeprefix(str(NotPrepared(settings.data, "")))
        raise NotPrepared(settings.data, said.removesuffix(NotPrepared.hint).strip())


def _further() -> list[Callable[[Engine], None]]:
    found = sorted(entry_points(group=MIGRATIONS), key=lambda point: point.name)
    return [point.load() for point in found]
