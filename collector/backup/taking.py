"""Takes everything into one file while everything runs.

Databases come through SQLite's backup interface out of one unchanging view each, so a part is whole whatever is written
meanwhile. Records come before photos: a photo's file is there before any entry names it, so none is missed.
"""

import errno
import logging
import os
import shutil
import sqlite3
import zipfile
from collections.abc import Iterator
from contextlib import closing
from datetime import datetime
from hashlib import sha256
from importlib.metadata import version
from pathlib import Path
from typing import IO

from sqlalchemy import make_url
from sqlalchemy.exc import ArgumentError

from collector.backup.contents import contents
from collector.backup.form import (
    FORM,
    MANIFEST,
    READINGS,
    RECORDS,
    SECRETS,
    SETTINGS_FILE,
    Content,
    Manifest,
    Part,
    to_json,
)
from collector.backup.rows import copy_rows
from collector.database_code import database_code
from collector.errors import StoreFull, StoreUnavailable
from collector.prepare import prepare_records
from collector.records.engine import open_records
from collector.settings import PREFIX, Settings

log = logging.getLogger(__name__)

PAGES_AT_ONCE = 2_000  # of SQLite's backup; between, the disk is left to the readings for a moment
PAUSE_S = 0.01
CHUNK = 1 << 20
PACKED_ALREADY = frozenset({".jpg", ".jpeg", ".png", ".webp", ".gz", ".zip"})
# What can be made again, belongs to one run, or has been taken in already.
LEFT_OUT = frozenset({"cache", "copies", "import/done"})
LEFT_OUT_ENDINGS = (".lock", "-wal", "-shm", "-journal", ".part", ".spool")


def take(settings: Settings, to: Path, now: datetime, *, secrets: bool = True) -> Manifest:
    """Write a backup; a half-written one never carries the name.

    Args:
        to: the file to write, not there yet. secrets: also passwords and keys of the folder `secrets`.
    Raises:
        StoreFull, StoreUnavailable: the file cannot be written, or something to copy cannot be read.
    """
    part, spool = to.with_name(f"{to.name}.part"), to.with_name(f"{to.name}.spool")
    if not to.parent.is_dir():
        raise StoreUnavailable(to, 0, "the folder is not there")
    try:
        if to.exists():
            raise FileExistsError(f"{to.name} is there already")
        shutil.rmtree(spool, ignore_errors=True)
        spool.mkdir(mode=0o700)
        with part.open("wb") as out:
            manifest = _write(settings, out, spool, now, secrets)
            out.flush()
            os.fsync(out.fileno())
        part.chmod(0o600)
        part.rename(to)
        _sync_folder(to.parent)
    except (OSError, sqlite3.Error) as error:
        log.warning("backup_not_taken code=%s reason=%s", database_code(error), error)
        raise _ours(error, to) from error
    finally:
        part.unlink(missing_ok=True)
        shutil.rmtree(spool, ignore_errors=True)
    return manifest


def _ours(error: OSError | sqlite3.Error, to: Path) -> StoreUnavailable:
    full = isinstance(error, OSError) and error.errno == errno.ENOSPC
    if full or getattr(error, "sqlite_errorcode", None) == sqlite3.SQLITE_FULL:
        return StoreFull(to, 0)
    return StoreUnavailable(to, 0, str(error))


def _write(settings: Settings, out: IO[bytes], spool: Path, now: datetime, secrets: bool) -> Manifest:
    told: dict[str, dict[str, Content]] = {}
    parts: list[Part] = []
    with zipfile.ZipFile(out, "w", strict_timestamps=False) as file:
        for name, database in _databases(settings, spool):
            told[name] = contents(database)
            parts.append(_add(file, name, database, now))
            database.unlink()
        for path in _files(settings, secrets):
            try:
                parts.append(_add(file, path.relative_to(settings.data).as_posix(), path, now))
            except FileNotFoundError:
                continue  # taken away between the listing and the reading, as imports are
        parts.append(_add(file, SETTINGS_FILE, _settings_text(spool), now))
        manifest = Manifest(FORM, now, version("rindwatch"), secrets, tuple(parts), told)
        file.writestr(_entry(MANIFEST, now), to_json(manifest))
    return manifest


def _databases(settings: Settings, spool: Path) -> Iterator[tuple[str, Path]]:
    """Whole copies of both databases; each is gone again before the next is made."""
    copy_database(settings.readings_path, spool / READINGS, unchanging=True)
    yield READINGS, spool / READINGS
    if settings.records_at.startswith("sqlite"):
        copy_database(_records_path(settings), spool / RECORDS, unchanging=False)
    else:
        _records_as_file(settings.records_at, spool / RECORDS)
    yield RECORDS, spool / RECORDS


def _records_path(settings: Settings) -> Path:
    """The file of the records; of records that live in a server, nothing that is a file."""
    at = make_url(settings.records_at)
    return Path(at.database or "") if at.get_backend_name() == "sqlite" else Path()


def copy_database(source: Path, to: Path, *, unchanging: bool) -> None:
    """Copy a SQLite database that others write to.

    Args:
        unchanging: hold one view for the whole copy, which costs writers nothing with a write-ahead log; without it
            the copy would begin anew at each write of another process and might never end. Otherwise all in one step,
            since a view of a database without that log would keep writers out for as long as the pauses last.
    """
    reader = sqlite3.connect(f"{source.absolute().as_uri()}?mode=ro", uri=True, timeout=30, isolation_level=None)
    with closing(reader), closing(sqlite3.connect(to)) as writer:
        # Nobody needs the spooled copy after a power cut; what lasts is the zip, and that is synced.
        writer.execute("PRAGMA synchronous=OFF")
        if unchanging:
            reader.execute("BEGIN")
            reader.execute("SELECT count(*) FROM sqlite_schema").fetchone()
        reader.backup(writer, pages=PAGES_AT_ONCE if unchanging else -1, sleep=PAUSE_S)
        writer.execute("PRAGMA journal_mode=DELETE")


def _records_as_file(url: str, to: Path) -> None:
    """Records that live in a database server, as the file that they would be here."""
    source, target = open_records(url), open_records(f"sqlite:///{to}")
    try:
        prepare_records(target)
        copy_rows(source, target)
    finally:
        source.dispose()
        target.dispose()


def _files(settings: Settings, secrets: bool) -> Iterator[Path]:
    """Everything else in the data folder, in a steady order.

    No database that is in use, whatever its name: closing a file takes away the locks that SQLite has on it in the same
    process (sqlite.org/howtocorrupt.html, 2.2), and what was read would be half of one commit and half of another.
    """
    databases, own_records = {READINGS, RECORDS}, _records_path(settings).resolve()
    for path in sorted(settings.data.rglob("*")):
        inside = path.relative_to(settings.data)
        name, top = inside.as_posix(), inside.parts[0]
        left_out = top in LEFT_OUT or any(name.startswith(f"{folder}/") for folder in LEFT_OUT)
        if left_out or name in databases or name.endswith(LEFT_OUT_ENDINGS) or (top == SECRETS and not secrets):
            continue
        if path.resolve() == own_records:
            continue
        if path.is_file() and not path.is_symlink():
            yield path


def _settings_text(spool: Path) -> Path:
    """The settings that were in force, for the person who sets the new machine up; no password stands in it."""
    lines = ["# The settings in force when this backup was made. Paths are those of that machine."]
    for name, value in sorted(os.environ.items()):
        if name.startswith(PREFIX) and not name.startswith(f"{PREFIX}TEST_") and name != f"{PREFIX}SUPERVISOR":
            lines.append(f"{name}={_without_password(value)}")
    path = spool / SETTINGS_FILE
    path.write_text("\n".join(lines) + "\n")
    return path


def _without_password(value: str) -> str:
    """An address without the password in it; every other secret is a file, and only its name is a setting."""
    if "://" not in value:
        return value
    try:
        return make_url(value).render_as_string(hide_password=True)
    except (ArgumentError, ValueError):
        return "(not written down)"


def _entry(name: str, now: datetime) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name, now.timetuple()[:6])
    entry.compress_type = zipfile.ZIP_STORED if Path(name).suffix in PACKED_ALREADY else zipfile.ZIP_DEFLATED
    entry._compresslevel = 3  # type: ignore[attr-defined]
    entry.external_attr = (0o600 if name.startswith(f"{SECRETS}/") else 0o640) << 16
    return entry


def _add(file: zipfile.ZipFile, name: str, path: Path, now: datetime) -> Part:
    digest, size = sha256(), 0
    with path.open("rb") as source, file.open(_entry(name, now), "w", force_zip64=True) as to:
        while chunk := source.read(CHUNK):
            digest.update(chunk)
            size += len(chunk)
            to.write(chunk)
    return Part(name, size, digest.hexdigest())


def _sync_folder(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
