"""Unpacks a backup into an empty folder, each part held against its checksum; nothing of a damaged one is kept."""

import errno
import os
import shutil
import sqlite3
import struct
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import closing, contextmanager
from hashlib import sha256
from pathlib import Path
from typing import IO

from collector.backup.contents import contents, differences
from collector.backup.errors import BackupAway, BackupDamaged, RestoreRefused
from collector.backup.form import FORM, MANIFEST, READINGS, RECORDS, SECRETS, Manifest, Part, from_json
from collector.errors import SchemaTooNew, StoreFull, StoreUnavailable
from collector.readings.schema import VERSION

CHUNK = 1 << 20
UNPACKING = ".restoring"
MAX_MANIFEST_BYTES = 100_000_000
# All that the zip library raises for bytes that are not what they were.
UNREADABLE = (
    zipfile.BadZipFile, zlib.error, struct.error, EOFError, KeyError, ValueError, NotImplementedError, RuntimeError,
    IndexError, OverflowError,
)  # fmt: skip


def verify(file: Path) -> Manifest:
    """Read a whole backup and hold every part against its checksum; writes nothing.

    Raises:
        BackupDamaged: names the first part that is not as it was. SchemaTooNew: a newer version wrote it.
        BackupAway: it cannot be opened.
    """
    with _opened(file) as backup:
        manifest = _manifest(file, backup)
        for part in manifest.parts:
            _unpack(file, backup, part, None)
    return manifest


def restore(file: Path, into: Path) -> Manifest:
    """Unpack a backup into an empty folder or one that is not there yet.

    Raises:
        BackupDamaged, SchemaTooNew, BackupAway: as `verify`; the folder is then as it was.
        StoreFull, StoreUnavailable: the folder takes nothing.
        RestoreRefused: something lies in the folder, or rindwatch runs in it.
    """
    _refuse_used(into)
    existed = into.is_dir()
    unpacked = into / UNPACKING
    try:
        with _opened(file) as backup:
            manifest = _manifest(file, backup)
            unpacked.mkdir(parents=True, mode=0o750)
            for part in manifest.parts:
                _unpack(file, backup, part, unpacked / part.name)
        _compare(file, manifest, unpacked)
        _move_in(unpacked, into)
    except BaseException as error:
        shutil.rmtree(unpacked if existed else into, ignore_errors=True)
        if isinstance(error, OSError):
            full = StoreFull(into, 0) if error.errno == errno.ENOSPC else StoreUnavailable(into, 0, str(error))
            raise full from error
        raise
    return manifest


def _refuse_used(into: Path) -> None:
    if not into.exists():
        return
    if not into.is_dir():
        raise RestoreRefused(into, "it is a file")
    shutil.rmtree(into / UNPACKING, ignore_errors=True)
    found = sorted(path.name for path in into.iterdir())
    if READINGS in found:
        raise RestoreRefused(into, "it is in use: readings lie in it")
    if found:
        raise RestoreRefused(into, f"it is in use: {found[0]} lies in it")


@contextmanager
def _opened(file: Path) -> Iterator[zipfile.ZipFile]:
    try:
        backup = zipfile.ZipFile(file)
    except OSError as error:
        raise BackupAway(file, error.strerror or str(error)) from error
    except UNREADABLE as error:
        raise BackupDamaged(file, "its list of parts", "it was cut off, or is no backup") from error
    with backup:
        yield backup


def _manifest(file: Path, backup: zipfile.ZipFile) -> Manifest:
    try:
        if backup.getinfo(MANIFEST).file_size > MAX_MANIFEST_BYTES:
            raise ValueError("it is far too long")
        manifest = from_json(backup.read(MANIFEST).decode())
    except UNREADABLE as error:
        raise BackupDamaged(file, MANIFEST, str(error).strip("'\"") or "it cannot be read") from error
    if manifest.form > FORM:
        raise SchemaTooNew(file, str(manifest.form), str(FORM))
    return manifest


def _unpack(file: Path, backup: zipfile.ZipFile, part: Part, to: Path | None) -> None:
    """Read one part to its end, into a file if one is named, and compare what came."""
    try:
        with backup.open(part.name) as source:
            found = _copy(source, part, to)
    except KeyError as error:
        raise BackupDamaged(file, part.name, "it is missing") from error
    except UNREADABLE as error:
        raise BackupDamaged(file, part.name, str(error)[:200] or "it cannot be read") from error
    if found != (part.bytes, part.sha256):
        raise BackupDamaged(file, part.name, "its checksum differs")


def _copy(source: IO[bytes], part: Part, to: Path | None) -> tuple[int, str]:
    digest, size = sha256(), 0
    out = None if to is None else _made(to, part)
    try:
        while (chunk := source.read(CHUNK)) and size <= part.bytes:
            digest.update(chunk)
            size += len(chunk)
            if out is not None:
                out.write(chunk)
        if out is not None:
            out.flush()
            os.fsync(out.fileno())
    finally:
        if out is not None:
            out.close()
    return size, digest.hexdigest()


def _made(to: Path, part: Part) -> IO[bytes]:
    secret = part.name.startswith(f"{SECRETS}/")
    to.parent.mkdir(parents=True, exist_ok=True, mode=0o700 if secret else 0o750)
    return os.fdopen(os.open(to, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600 if secret else 0o640), "wb")


def _compare(file: Path, manifest: Manifest, folder: Path) -> None:
    """Every table of both databases holds what it held."""
    for name in (READINGS, RECORDS):
        try:
            with closing(sqlite3.connect(folder / name)) as db:
                form = int(db.execute("PRAGMA user_version").fetchone()[0])
                sound = db.execute("PRAGMA quick_check(1)").fetchone()[0]
            if name == READINGS and form > VERSION:
                raise SchemaTooNew(file, str(form), str(VERSION))
            wrong = [sound] if sound != "ok" else differences(manifest.contents.get(name, {}), contents(folder / name))
        except sqlite3.Error as error:
            raise BackupDamaged(file, name, str(error)) from error
        if wrong:
            raise BackupDamaged(file, name, wrong[0])


def _move_in(unpacked: Path, into: Path) -> None:
    """The databases come last: a folder with readings in it is a whole one."""
    for path in sorted(unpacked.iterdir(), key=lambda p: (p.name == READINGS, p.name == RECORDS, p.name)):
        path.rename(into / path.name)
    unpacked.rmdir()
    handle = os.open(into, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
