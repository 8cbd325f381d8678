"""Taking in photos: read in a child process, one at a time, kept by content."""

import json
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from hashlib import sha256
from pathlib import Path
from typing import Any, Literal

from filelock import FileLock
from sqlalchemy import Connection, Engine, RowMapping, insert, select
from sqlalchemy.exc import IntegrityError

from collector.records.engine import reading
from dashboard.wheels import tables
from dashboard.wheels.changes import note_photo
from dashboard.wheels.photo_errors import PhotoRefused
from dashboard.wheels.photo_files import keep_file

MAX_BYTES = 25_000_000
WAIT_S = 60.0
TURN_S = 300.0
CHILD = "dashboard.wheels.photo_child"


@dataclass(frozen=True, slots=True)
class Kept:
    """A photo as it lies on disk: hash of the photo and of the small one, size in pixels and bytes."""

    content_hash: str
    small_hash: str
    width: int
    height: int
    bytes: int


def take_in(folder: Path, data: bytes, wait_s: float = WAIT_S) -> Kept:
    """Read a photo in a child process and keep what comes out of it.

    Args:
        folder: where photos lie; made if it is not there.
        data: the file as it was sent: JPEG, PNG, WebP or HEIC, at most 25 MB.
        wait_s: how long the child may take.
    Raises:
        PhotoRefused: it is none of these, too large, broken, or made to do harm.
    """
    if not data:
        raise PhotoRefused("blank")
    if len(data) > MAX_BYTES:
        raise PhotoRefused("bytes", limit_mb=MAX_BYTES // 10**6, got_mb=len(data) / 1e6)
    folder.mkdir(parents=True, exist_ok=True)
    with FileLock(folder / ".reading.lock", timeout=TURN_S):
        head, photo, small = _read_apart(data, wait_s)
    return Kept(keep_file(folder, photo), keep_file(folder, small), head["width"], head["height"], len(photo))


def _read_apart(data: bytes, wait_s: float) -> tuple[dict[str, Any], bytes, bytes]:
    command = [sys.executable, "-m", CHILD]
    try:
        done = subprocess.run(command, input=data, capture_output=True, timeout=wait_s, check=False)
    except subprocess.TimeoutExpired as error:
        raise PhotoRefused("time") from error
    line, _, rest = done.stdout.partition(b"\n")
    if done.returncode or not line:
        # The child was stopped by its limits or fell over: for the person that is the photo's fault either way.
        raise PhotoRefused("memory" if b"MemoryError" in done.stderr else "broken")
    head = json.loads(line)
    if "reason" in head:
        raise PhotoRefused(head["reason"], **head["facts"])
    return head, rest[: head["photo_bytes"]], rest[head["photo_bytes"] :]


Outcome = Literal["stored", "same", "conflict"]


def put_photo(engine: Engine, folder: Path, photo_id: str, data: bytes, *, received_at: datetime, who: str) -> Outcome:
    """Keep a photo under the id that the phone gave it, once however often it is sent.

    Raises:
        PhotoRefused: as for `take_in`.
    """
    source_hash = sha256(data).hexdigest()
    with reading(engine) as connection:
        known = _source_of(connection, photo_id)
    if known is not None:
        return "same" if known == source_hash else "conflict"
    kept = take_in(folder, data)
    row = {"id": photo_id, "source_hash": source_hash, "who": who, "received_at": received_at, **asdict(kept)}
    with engine.begin() as connection:
        try:
            with connection.begin_nested():
                connection.execute(insert(tables.photo).values(**row))
                note_photo(connection, photo_id)
        except IntegrityError:
            return "same" if _source_of(connection, photo_id) == source_hash else "conflict"
    return "stored"


def _source_of(connection: Connection, photo_id: str) -> str | None:
    statement = select(tables.photo.c.source_hash).where(tables.photo.c.id == photo_id)
    return connection.execute(statement).scalar_one_or_none()


def photos_of(connection: Connection, wheel_ids: Sequence[str]) -> list[RowMapping]:
    """The photos of some wheels in the order in which they were taken, each with its entry, wheel and kind.

    A photo that an entry names and that has not come yet is not among them.
    """
    e, r, p = tables.entry.c, tables.photo_ref.c, tables.photo.c
    undone = select(e.replaces).where(e.replaces.is_not(None)).scalar_subquery()
    statement = (
        select(p.id, p.content_hash, p.small_hash, p.width, p.height, e.wheel_id, e.kind, e.happened_at, e.who)
        .add_columns(e.id.label("entry_id"))
        .join_from(tables.photo_ref, tables.photo, r.photo_id == p.id)
        .join(tables.entry, r.entry_id == e.id)
        .where(e.wheel_id.in_(list(wheel_ids)), e.id.not_in(undone))
        .order_by(e.happened_at, e.id, r.number)
    )
    return list(connection.execute(statement).mappings())


def awaited(connection: Connection) -> list[str]:
    """Photos that entries name and that have not come yet."""
    r, p = tables.photo_ref.c, tables.photo.c
    statement = select(r.photo_id).where(r.photo_id.not_in(select(p.id))).distinct()
    return list(connection.execute(statement.order_by(r.photo_id)).scalars())
