"""Which wheels were read anew, in order, so that a page looks only at those that changed since it was last made.

A row is written in the commit that changes what the book says, so every process sees it at the same moment as the
change itself. What hangs on more than wheels (a chore, a style, a word) moves the revision on without naming a wheel.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from sqlalchemy import Connection, delete, func, insert, select, text

from collector.records.columns import new_id
from dashboard.wheels.tables import book_change, entry, photo_ref

REMEMBERED = 2_000  # changes; whoever was away for longer reads everything


@dataclass(frozen=True, slots=True)
class Revision:
    """How far the book has come.

    Args:
        seq: the newest change, 0 before the first. mark: its mark, made at random: a book that was brought back from a
            copy and has grown on counts to the same number, but never to the same mark.
    """

    seq: int = 0
    mark: str = ""


def note(connection: Connection, wheel_ids: Iterable[str | None]) -> None:
    """Say that wheels were read anew; None: that something else was."""
    rows = [{"mark": new_id(), "wheel_id": wheel_id} for wheel_id in wheel_ids]
    if not rows:
        return
    if connection.dialect.name == "postgresql":
        # Numbers are given out before they are committed: a later one that is seen first would hide an earlier one.
        connection.execute(text("LOCK TABLE book_change IN EXCLUSIVE MODE"))
    connection.execute(insert(book_change), rows)


def note_photo(connection: Connection, photo_id: str) -> None:
    """Say that a photo came of which the book had only the name."""
    named = select(entry.c.wheel_id).join_from(photo_ref, entry, photo_ref.c.entry_id == entry.c.id)
    note(connection, connection.execute(named.where(photo_ref.c.photo_id == photo_id).distinct()).scalars().all())


def thin(connection: Connection) -> None:
    """Forget changes that are too old to be asked for."""
    newest = select(func.max(book_change.c.seq)).scalar_subquery()
    connection.execute(delete(book_change).where(book_change.c.seq <= newest - REMEMBERED))


def note_everything(connection: Connection) -> None:
    """Say that the whole book was read anew: nothing that came before can be built on."""
    connection.execute(delete(book_change))
    note(connection, [None])


def revision(connection: Connection) -> Revision:
    """How far the book has come; ask this before anything that is to be kept under it."""
    c = book_change.c
    row = connection.execute(select(c.seq, c.mark).order_by(c.seq.desc()).limit(1)).first()
    return Revision(row.seq, row.mark) if row else Revision()


def wheels_since(connection: Connection, known: Revision) -> set[str] | None:
    """The wheels that were read anew since a revision; None where nobody can tell, so that all have to be."""
    c = book_change.c
    mark = connection.execute(select(c.mark).where(c.seq == known.seq)).scalar_one_or_none()
    if mark is None or mark != known.mark:
        return None
    changed = select(c.wheel_id).where(c.seq > known.seq, c.wheel_id.is_not(None))
    return set(connection.execute(changed).scalars())
