"""The nightly copy of everything into a folder that the person names; the newest seven stay."""

import logging
import os
import shutil
import sqlite3
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from sqlalchemy import Engine

from collector.clock import Clock
from collector.errors import StoreUnavailable
from collector.records.life import sign
from collector.settings import Settings

log = logging.getLogger(__name__)

KEPT = 7
NIGHT_HOUR = 3  # local time: our choice, nobody is in the cave
PREFIX = "rindwatch-copy-"
PAGES_A_STEP = 2_000  # of SQLite's backup; between steps the live readings get their turn
PHOTOS = "photos"


@dataclass(frozen=True, slots=True)
class CopyMade:
    """Where a copy lies and whether that is another disk than the data's."""

    path: Path
    bytes: int
    other_disk: bool


def make_copy(settings: Settings, now: datetime) -> CopyMade:
    """Copy both databases and the photos while everything runs; a half-made copy never looks like a whole one.

    Raises:
        StoreUnavailable: the folder is not there or takes nothing.
    """
    folder = settings.backup_folder
    if folder is None:
        raise StoreUnavailable("the copy's folder", 0, "RINDWATCH_BACKUP_FOLDER is not set")
    whole = folder / f"{PREFIX}{now:%Y%m%d-%H%M%S}"
    part = whole.with_suffix(".part")
    try:
        shutil.rmtree(part, ignore_errors=True)
        part.mkdir(parents=True)
        for database in _databases(settings):
            _copy_database(database, part / database.name)
        if (settings.data / PHOTOS).is_dir():
            shutil.copytree(settings.data / PHOTOS, part / PHOTOS)
        _sync(part)
        part.rename(whole)
        _thin(folder)
    except (OSError, sqlite3.Error) as error:
        shutil.rmtree(part, ignore_errors=True)
        raise StoreUnavailable(folder, 0, str(error)) from error
    size = sum(path.stat().st_size for path in whole.rglob("*") if path.is_file())
    return CopyMade(whole, size, os.stat(folder).st_dev != os.stat(settings.data).st_dev)


def _databases(settings: Settings) -> list[Path]:
    """The files to copy; records in PostgreSQL are copied by its own tools."""
    records = settings.data / "records.sqlite3"
    return [settings.readings_path, *([] if settings.records_url else [records])]


def _copy_database(source: Path, to: Path) -> None:
    reader = sqlite3.connect(f"{source.absolute().as_uri()}?mode=ro", uri=True, timeout=30)
    with closing(reader), closing(sqlite3.connect(to)) as writer:
        reader.backup(writer, pages=PAGES_A_STEP, sleep=0.02)


def _sync(folder: Path) -> None:
    for path in [p for p in folder.rglob("*") if p.is_file()] + [folder]:
        handle = os.open(path, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _thin(folder: Path) -> None:
    for old in copies(folder)[:-KEPT]:
        shutil.rmtree(old)


def copies(folder: Path) -> list[Path]:
    """Whole copies in a folder, oldest first."""
    return sorted(p for p in folder.glob(f"{PREFIX}*") if p.is_dir() and p.suffix != ".part")


class NightlyCopy:
    """Makes a copy each night, and by day when the last night was missed."""

    def __init__(self, settings: Settings, records: Engine, clock: Clock) -> None:
        self._settings, self._records, self._clock = settings, records, clock

    def step(self) -> None:
        now = self._clock.now()
        if self._settings.backup_folder is None or not self._due(now):
            return
        made = make_copy(self._settings, now)
        facts = {"path": str(made.path), "bytes": made.bytes, "other_disk": made.other_disk}
        sign(self._records, "copy", now, facts)
        log.info("copy_made path=%s bytes=%d", made.path, made.bytes)

    def _due(self, now: datetime) -> bool:
        night = now.astimezone().replace(hour=NIGHT_HOUR, minute=0, second=0, microsecond=0)
        if now < night:
            night -= timedelta(days=1)
        newest = copies(self._settings.backup_folder) if self._settings.backup_folder else []
        made_at = newest[-1].stat().st_mtime if newest else 0
        return made_at < night.timestamp()
