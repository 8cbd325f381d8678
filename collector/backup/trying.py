"""Restores a backup into a scratch folder, compares everything, opens it as a start would, and deletes it again."""

import shutil
import tempfile
import time
from dataclasses import asdict, dataclass
from hashlib import sha256
from pathlib import Path

from sqlalchemy import Engine

from collector.backup import second_place
from collector.backup.errors import BackupAway
from collector.backup.form import PHOTOS, READINGS, RECORDS, Manifest
from collector.backup.restoring import restore
from collector.clock import Clock
from collector.copies import ENDING, TRIAL, copies, first_folder
from collector.errors import CaveError
from collector.prepare import prepare_apart
from collector.records.engine import reading
from collector.records.life import sign
from collector.settings import Settings

SCRATCH = "rindwatch-try-"


@dataclass(frozen=True, slots=True)
class Tried:
    """What a trial of restoring found.

    Args:
        reason: what is wrong, "" when all is well. tables, readings, photos, parts: how many were compared.
    """

    file: Path
    reason: str
    parts: int = 0
    tables: int = 0
    readings: int = 0
    photos: int = 0
    took_s: float = 0.0

    @property
    def well(self) -> bool:
        return not self.reason


def try_restore(file: Path, scratch: Path) -> Tried:
    """Restore, compare and delete; nothing that runs notices.

    Args:
        scratch: a folder with room for all that is in the backup; a folder of our own is made in it.
    """
    began = time.monotonic()
    for left in scratch.glob(f"{SCRATCH}*"):
        shutil.rmtree(left, ignore_errors=True)  # of a trial that was cut short
    with tempfile.TemporaryDirectory(prefix=SCRATCH, dir=scratch, ignore_cleanup_errors=True) as folder:
        into = Path(folder) / "data"
        try:
            manifest = restore(file, into)
            wrong = _wrong_photo(into)
            prepare_apart(Settings(data=into, records_url=""))
        except CaveError as error:
            return Tried(file, str(error), took_s=time.monotonic() - began)
    return _told(file, wrong, manifest, time.monotonic() - began)


def _wrong_photo(into: Path) -> str:
    """Photos are named by what is in them: a check that does not lean on the backup's own list."""
    for path in sorted((into / PHOTOS).rglob("*.jpg")):
        if sha256(path.read_bytes()).hexdigest() != path.stem:
            return f"the photo {path.name} is not what its name says"
    return ""


def _told(file: Path, wrong: str, manifest: Manifest, took_s: float) -> Tried:
    tables = sum(len(manifest.contents[name]) for name in (READINGS, RECORDS))
    readings = manifest.rows(READINGS, "reading")
    return Tried(file, wrong, len(manifest.parts), tables, readings, manifest.photos, took_s)


def try_newest(settings: Settings, records: Engine, clock: Clock, file: Path | None = None) -> Tried:
    """Restore a copy on trial, the newest one unless a file is named; of the newest a sign is left for the pages.

    Raises:
        BackupAway: there is no copy to try. NoPlaceForCopies: nobody said where they lie.
    """
    tried = try_restore(file or _newest(settings, records), _scratch(settings))
    if file is None:
        facts = {**asdict(tried), "file": tried.file.name, "well": tried.well, "took_s": round(tried.took_s, 1)}
        sign(records, TRIAL, clock.now(), facts)
    return tried


def _newest(settings: Settings, records: Engine) -> Path:
    with reading(records) as connection:
        folder = first_folder(settings, second_place.load(connection))
    found = [path for path in copies(folder) if path.suffix == ENDING] if folder.is_dir() else []
    if not found:
        raise BackupAway(folder, "no copy lies there yet")
    return found[-1]


def _scratch(settings: Settings) -> Path:
    scratch = settings.data / "cache"
    scratch.mkdir(parents=True, exist_ok=True)
    return scratch
