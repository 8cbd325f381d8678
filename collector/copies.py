"""The automatic copies: one file a night in a folder that the person names, some kept, and sent to a second place."""

import os
import shutil
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo
from pathlib import Path

from filelock import FileLock, Timeout
from sqlalchemy import Engine
from sqlalchemy.exc import SQLAlchemyError

from collector.backup import second_place
from collector.backup.errors import CopyUnderWay, NoPlaceForCopies
from collector.backup.second_place import SecondPlace
from collector.backup.taking import take
from collector.backup.thinning import kept
from collector.clock import Clock
from collector.errors import StoreUnavailable
from collector.records.columns import to_ms
from collector.records.engine import reading
from collector.records.life import sign, signs
from collector.settings import Settings

PREFIX, ENDING, STAMP = "rindwatch-copy-", ".zip", "%Y%m%d-%H%M%S"
LOCK = "copies.lock"
STAGING = "copies"  # in the data folder, when copies only go to another machine
# Signs that the pages, the vigil and `rindwatch check` read.
COPY, FAILED, SECOND, TRIAL = "copy", "copy_failed", "second_copy", "restore_tried"


@dataclass(frozen=True, slots=True)
class CopyMade:
    """Where a copy lies and whether that is another disk than the data's."""

    path: Path
    bytes: int
    other_disk: bool


def wanted(settings: Settings, second: SecondPlace) -> bool:
    """Whether the person has named any place for copies."""
    return settings.backup_folder is not None or bool(second) or bool(settings.copy_command)


def sent_to(settings: Settings, second: SecondPlace) -> str | None:
    """Where copies are sent on to, "" when nowhere; None when nobody wants copies."""
    return second.where or settings.copy_command if wanted(settings, second) else None


def first_folder(settings: Settings, second: SecondPlace) -> Path:
    """The folder that a copy is made in, before it is sent on.

    Raises:
        NoPlaceForCopies: no place is named.
    """
    if settings.backup_folder is not None:
        return settings.backup_folder
    if second.folder is not None:
        return second.folder
    if second or settings.copy_command:
        return settings.data / STAGING
    raise NoPlaceForCopies


def make_copy(settings: Settings, second: SecondPlace, now: datetime) -> CopyMade:
    """Copy everything into one file while everything runs, and thin out the older ones.

    Raises:
        StoreUnavailable: the folder is not there or takes nothing.
    """
    folder = first_folder(settings, second)
    path = folder / f"{PREFIX}{now.astimezone(UTC):{STAMP}}{ENDING}"
    try:
        folder.mkdir(parents=folder == settings.data / STAGING, exist_ok=True)
    except OSError as error:
        raise StoreUnavailable(folder, 0, error.strerror or str(error)) from error
    clear_unfinished(folder)
    take(settings, path, now)
    local = now.astimezone().tzinfo or UTC
    thin(folder, local, only_newest=folder == settings.data / STAGING)
    return CopyMade(path, path.stat().st_size, os.stat(folder).st_dev != os.stat(settings.data).st_dev)


def send_on(settings: Settings, second: SecondPlace, made: CopyMade) -> str:
    """Bring a copy to the second place; returns where that is, "" when there is none.

    Raises:
        StoreUnavailable: it did not take the copy.
    """
    if settings.copy_command:
        second_place.run(second_place.own_arguments(settings.copy_command, made.path))
    if second.folder is not None and second.folder != made.path.parent:
        _copy_file(made.path, second.folder)
    elif second and second.folder is None:
        second_place.run(second_place.arguments(second, made.path))
    return second.where or settings.copy_command


def _copy_file(path: Path, folder: Path) -> None:
    """Copy beside, sync, rename: a half-copied file never carries the name."""
    part = folder / f"{path.name}.part"
    try:
        if not folder.is_dir():
            raise StoreUnavailable(folder, 0, "the folder is not there; is the disk or share mounted?")
        clear_unfinished(folder)
        with path.open("rb") as source, part.open("wb") as to:
            shutil.copyfileobj(source, to, 1 << 20)
            to.flush()
            os.fsync(to.fileno())
        part.rename(folder / path.name)
        thin(folder, datetime.now().astimezone().tzinfo or UTC)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise StoreUnavailable(folder, 0, error.strerror or str(error)) from error


def clear_unfinished(folder: Path) -> None:
    """Remove what a kill or a power cut left half-made."""
    for left in [*folder.glob(f"{PREFIX}*.part"), *folder.glob(f"{PREFIX}*.spool")]:
        if left.is_dir():
            shutil.rmtree(left, ignore_errors=True)
        else:
            left.unlink(missing_ok=True)


def copies(folder: Path) -> list[Path]:
    """Whole copies in a folder, oldest first; version 0.1.0 made folders of the same name."""
    found = [path for path in folder.glob(f"{PREFIX}*") if made_at(path) is not None]
    return sorted(found, key=lambda path: path.name.removesuffix(ENDING))


def made_at(path: Path) -> datetime | None:
    """When a copy was made, by its name; None for anything else."""
    try:
        stamp = path.name.removeprefix(PREFIX).removesuffix(ENDING)
        return datetime.strptime(stamp, STAMP).replace(tzinfo=UTC)
    except ValueError:
        return None


def thin(folder: Path, zone: tzinfo, *, only_newest: bool = False) -> None:
    """Remove the copies that are not to stay."""
    found = {at: path for path in copies(folder) if (at := made_at(path)) is not None}
    stay = {max(found)} if only_newest and found else kept(found, zone)
    for at in found.keys() - stay:
        if found[at].is_dir():
            shutil.rmtree(found[at])
        else:
            found[at].unlink()


def copy_everything(settings: Settings, records: Engine, clock: Clock) -> tuple[CopyMade, str, str]:
    """Make a copy, send it on, and leave signs of both for the pages.

    Returns:
        The copy; the second place, "" when there is none; why that did not take it, "" when it did.
    Raises:
        StoreUnavailable: the first copy could not be made. CopyUnderWay: one is being made now.
    """
    try:
        with FileLock(settings.data / LOCK, timeout=0):
            done = _copy_everything(settings, records, clock)
            sign(records, FAILED, clock.now(), {"reason": ""})
            return done
    except Timeout as error:
        raise CopyUnderWay from error
    except StoreUnavailable as trouble:
        with suppress(SQLAlchemyError):  # a full disk takes no sign either
            sign(records, FAILED, clock.now(), {"reason": f"{trouble.path}: {trouble.reason}"})
        raise


def _copy_everything(settings: Settings, records: Engine, clock: Clock) -> tuple[CopyMade, str, str]:
    with reading(records) as connection:
        second = second_place.load(connection)
        before = signs(connection).get(SECOND)
    now = clock.now()
    made = make_copy(settings, second, now)
    sign(records, COPY, now, {"path": str(made.path), "bytes": made.bytes, "other_disk": made.other_disk})
    where, reason = second.where or settings.copy_command, ""
    try:
        send_on(settings, second, made)
    except StoreUnavailable as trouble:
        reason = f"{trouble.path}: {trouble.reason}"
    if where:
        good_ms = before.facts.get("good_ms") if before and before.facts.get("where") == where else None
        facts = {"where": where, "reason": reason, "good_ms": good_ms if reason else to_ms(now)}
        sign(records, SECOND, now, facts)
    return made, where, reason
