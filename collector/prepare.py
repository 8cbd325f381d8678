"""Prepares the data folder: one starter at a time brings both databases up to the newest form."""

import logging
import sys
from collections.abc import Callable
from importlib.metadata import entry_points

from filelock import FileLock
from sqlalchemy import Engine

from collector.readings.schema import open_writer
from collector.records.engine import open_records
from collector.records.migrate import migrate
from collector.settings import Settings

log = logging.getLogger(__name__)

MIGRATIONS = "rindwatch.migrations"  # entry points of other packages with tables in the records database
LOCK_TIMEOUT_S = 120


def prepare(settings: Settings) -> None:
    """Make the folders and migrate; safe to run again and from several processes at once.

    Raises:
        SchemaTooNew: a newer version wrote this folder.
    """
    settings.data.mkdir(parents=True, exist_ok=True, mode=0o750)
    (settings.import_folder / "done").mkdir(parents=True, exist_ok=True)
    settings.secrets_folder.mkdir(exist_ok=True, mode=0o700)
    with FileLock(settings.data / "prepare.lock", timeout=LOCK_TIMEOUT_S):
        open_writer(settings.readings_path).close()
        engine = open_records(settings.records_at)
        migrate(engine)
        for further in _further():
            further(engine)
        engine.dispose()


def _further() -> list[Callable[[Engine], None]]:
    found = sorted(entry_points(group=MIGRATIONS), key=lambda point: point.name)
    return [point.load() for point in found]


if __name__ == "__main__":
    prepare(Settings())
    sys.exit(0)
