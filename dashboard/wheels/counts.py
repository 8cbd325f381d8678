"""How many pieces of a wheel or batch are left, and how it ended; pure."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from dashboard.wheels.bodies.doings import Counted, Cut, Ended, Lifted
from dashboard.wheels.model import Entry

ALIVE, CUT_UP = "alive", "cut"
STILL_FINE = frozenset({"wheel", "note", "tasting"})
"""What can be entered about a wheel that is gone without a question."""


@dataclass(frozen=True, slots=True)
class Count:
    """Where a wheel or batch stands.

    Args:
        left: pieces left. state: "alive", "cut" or a name out of ENDINGS. ended_at: None while alive.
        excess: entries that took more pieces than were left.
        late: entries that came after the end.
    """

    left: int
    state: str = ALIVE
    ended_at: datetime | None = None
    excess: tuple[str, ...] = ()
    late: tuple[str, ...] = ()


def count(entries: Sequence[Entry], pieces: int) -> Count:
    """Count down what was eaten, sold, given, thrown away, lifted out; a cut or the last piece ends it.

    Args:
        entries: the wheel's standing entries in order.
        pieces: how many there were at first, at least 1.
    """
    left, state, ended_at = pieces, ALIVE, None
    excess: list[str] = []
    late: list[str] = []
    for entry in entries:
        if ended_at is not None:
            if entry.happened_at > ended_at and entry.kind not in STILL_FINE:
                late.append(entry.id)
            continue
        taken = _taken(entry, left)
        if taken > left:
            excess.append(entry.id)
        left = entry.body.pieces if isinstance(entry.body, Counted) else max(left - taken, 0)
        if left == 0:
            state, ended_at = _state(entry), entry.happened_at
    return Count(left, state, ended_at, tuple(excess), tuple(late))


def _taken(entry: Entry, left: int) -> int:
    body = entry.body
    if isinstance(body, Cut):
        return left
    if isinstance(body, Ended):
        return left if body.pieces is None else body.pieces
    return body.pieces if isinstance(body, Lifted) else 0


def _state(entry: Entry) -> str:
    if isinstance(entry.body, Cut):
        return CUT_UP
    return entry.body.how if isinstance(entry.body, Ended) else "finished"
