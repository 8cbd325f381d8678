"""What the book says of each living wheel, kept from page to page; read anew for the wheels that changed meanwhile."""

from collections.abc import Callable, Collection, Mapping
from threading import Lock
from typing import Generic, TypeVar
from weakref import WeakKeyDictionary

from sqlalchemy import Connection, Engine

from dashboard.wheels.changes import Revision, revision, wheels_since
from dashboard.wheels.entry_rows import HANDFUL

Value = TypeVar("Value")
Read = Callable[[Connection, Collection[str] | None], Mapping[str, Value]]


class KeptByWheel(Generic[Value]):
    """Values by the id of a living wheel, each book with its own, stamped with the book's revision.

    Args:
        read: reads the values of some wheels out of the book, of all living ones for None. A wheel that is gone, or has
            no such value, is not among what it gives. It may look only at what the change log tells of: the wheel's
            row, its entries and its photos.
    """

    def __init__(self, read: Read[Value]) -> None:
        self._read = read
        self._last: WeakKeyDictionary[Engine, tuple[Revision, Mapping[str, Value]]] = WeakKeyDictionary()
        self._lock = Lock()

    def get(self, db: Connection) -> Mapping[str, Value]:
        """The values as the book stands now, whoever wrote to it."""
        now = revision(db)
        with self._lock:
            known = self._last.get(db.engine)
        if known is not None and known[0] == now:
            return known[1]
        changed = None if known is None else wheels_since(db, known[0])
        if known is None or changed is None or len(changed) > HANDFUL:
            found = dict(self._read(db, None))
        else:
            rest = {wheel_id: value for wheel_id, value in known[1].items() if wheel_id not in changed}
            found = rest | dict(self._read(db, changed) if changed else {})
        with self._lock:
            self._last[db.engine] = (now, found)
        return found
