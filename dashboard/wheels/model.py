"""An entry of the book as a value, and which entries stand; pure."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime

from dashboard.wheels.bodies.base import Body


@dataclass(frozen=True, slots=True)
class Entry:
    """Something that a person entered.

    Args:
        happened_at: the best estimate of when it was done: `done_at` set right by the phone's skew.
        done_at, sent_at: by the phone's own clock. received_at: by ours.
        replaces: the entry that this one corrects or undoes.
        flags: names out of flags.FLAGS.
    """

    id: str
    kind: str
    body: Body
    happened_at: datetime
    done_at: datetime
    received_at: datetime
    sent_at: datetime | None = None
    wheel_id: str | None = None
    make_id: str | None = None
    place_id: str | None = None
    gear_id: str | None = None
    style_id: str | None = None
    group_id: str | None = None
    who: str = ""
    zone: str = ""
    typed_time: bool = False
    replaces: str | None = None
    flags: tuple[str, ...] = field(default=())


def in_order(entries: Iterable[Entry]) -> list[Entry]:
    """By when they happened; of one moment by id, which a phone makes in the order of entering."""
    return sorted(entries, key=lambda e: (e.happened_at, e.id))


def standing(entries: Iterable[Entry], out: Iterable[str] = ()) -> list[Entry]:
    """The entries that count, in order: without what was corrected or undone, and without the undoing itself.

    Args:
        entries: all of one subject.
        out: ids that entries of other subjects put out.
    Of two corrections of one entry the later made counts. An undone correction does not bring back what it replaced;
    entering it again does.
    """
    known = list(entries)
    gone = set(out) | put_out((e.id, e.replaces) for e in known)
    return in_order(e for e in known if e.id not in gone and e.kind != "withdrawn")


def put_out(corrections: Iterable[tuple[str, str | None]]) -> set[str]:
    """The ids that some (id, replaces) put out: what they replace, and earlier corrections of the same."""
    latest: dict[str, str] = {}
    gone = set()
    for entry_id, replaced in corrections:
        if replaced is None:
            continue
        other = latest.get(replaced)
        gone |= {replaced} | ({min(other, entry_id)} if other else set())
        latest[replaced] = max(other or entry_id, entry_id)
    return gone
