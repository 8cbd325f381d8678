"""The rows of *Vat or cave?*, filled from the book: which wheels of a time were sick, and what each came through.

Only reads. A wheel is sick when the note was made on it, clean when somebody saw its rind afterwards and made no such
note, and else nobody knows: turning alone is not looking.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from sqlalchemy import ColumnElement, Connection, select

from collector.records.places import places
from dashboard.lookback.compared import PLACE, WheelSeen
from dashboard.wheels import tables
from dashboard.wheels.book import Make, Wheel, gear, wheels
from dashboard.wheels.entry_rows import out_where
from dashboard.wheels.vat_sheets import makes_of, shared_of
from dashboard.wheels.vat_time import Span

BEFORE = timedelta(days=90)  # how far back a weighing or move still tells the board; our choice

Names = Mapping[tuple[str, str], str]


@dataclass(frozen=True, slots=True)
class VatRows:
    """The rows and the words for what stands in them.

    Args:
        names: of places, shelves and gear, by (factor, value). What is not there is called as it is.
        makes: the makes in the rows. made_on: of wheels without one, by what stands for it.
    """

    rows: tuple[WheelSeen, ...]
    names: Names
    makes: tuple[Make, ...]
    made_on: Mapping[str, date]
    span: Span


def vat_rows(db: Connection, span: Span) -> VatRows:
    """Every wheel of the time asked about."""
    there = [wheel for wheel in wheels(db) if _was_there(wheel, span)]
    seen = _Seen(span)
    for row in _entries(db, span):
        seen.take(row)
    air, names = _places(db)
    stood = _stood(db, span, seen.sick_at)
    vats = makes_of(db, {wheel.make_id for wheel in there if wheel.make_id})
    shared = {make.id: shared_of(make.sheet) for make in vats}
    rows = [_row(wheel, seen, stood.get(wheel.id, {}), air, shared) for wheel in there]
    made_on = {make_key(wheel): wheel.made_on for wheel in there if wheel.made_on and not wheel.make_id}
    return VatRows(tuple(rows), names | _gear_names(db), tuple(vats), made_on, span)


def _was_there(wheel: Wheel, span: Span) -> bool:
    begun_at = wheel.last_at.get("begun")
    return begun_at is not None and begun_at <= span.to_at and (wheel.state_at is None or wheel.state_at > span.from_at)


def _row(
    wheel: Wheel, seen: "_Seen", stood: Mapping[str, timedelta], air: Mapping[str, str],
    vats: Mapping[str, Mapping[str, frozenset[str]]],
) -> WheelSeen:  # fmt: skip
    make = make_key(wheel)
    longest: dict[str, timedelta] = {}
    for place_id, length in stood.items():
        own = air.get(place_id, place_id)
        longest[own] = longest.get(own, timedelta()) + length
    sick = True if wheel.id in seen.sick_at else False if wheel.id in seen.looked else None
    shelves = frozenset(place_id for place_id in stood if air.get(place_id, place_id) != place_id)
    return WheelSeen(
        wheel_id=wheel.id,
        code=wheel.code or "without a code",
        make=make,
        places=tuple(sorted(longest, key=lambda place: (-longest[place], place))),
        sick=sick,
        shared={**vats.get(make, {}), "shelf": shelves, **seen.shared(wheel.id)},
    )


def make_key(wheel: Wheel) -> str:
    """The vat of a wheel; of one without a make, whatever of its style was made that day; "" if nobody knows."""
    if wheel.make_id:
        return wheel.make_id
    return f"{wheel.made_on.isoformat()} {wheel.style_id or ''}" if wheel.made_on else ""


class _Seen:
    """What the entries of the time say about each wheel."""

    def __init__(self, span: Span) -> None:
        self.span = span
        self.sick_at: dict[str, datetime] = {}
        self.looked: set[str] = set()
        self._who: dict[str, set[str]] = {}
        self._wash: dict[str, set[str]] = {}
        self._board: dict[str, str] = {}

    def take(self, row: Any) -> None:
        """One entry, in the order in which they happened."""
        span, body = self.span, row.body
        if row.happened_at >= span.sick_from_at and _is_sick(row.kind, body, span.kind):
            self.sick_at.setdefault(row.wheel_id, row.happened_at)
        if row.happened_at >= span.seen_from_at and _saw(row.kind, body):
            self.looked.add(row.wheel_id)
        if row.happened_at <= self.sick_at.get(row.wheel_id, span.to_at):
            self._touched(row)

    def _touched(self, row: Any) -> None:
        board = row.body.get("board_id")
        if board:
            self._board[row.wheel_id] = board
        if row.kind != "care" or row.happened_at < self.span.from_at:
            return
        if row.who:
            self._who.setdefault(row.wheel_id, set()).add(row.who)
        wash = row.gear_id or row.body.get("with_what")
        if wash:
            self._wash.setdefault(row.wheel_id, set()).add(wash)

    def shared(self, wheel_id: str) -> dict[str, frozenset[str]]:
        board = self._board.get(wheel_id)
        return {
            "board": frozenset({board} if board else ()),
            "wash": frozenset(self._wash.get(wheel_id, ())),
            "who": frozenset(self._who.get(wheel_id, ())),
        }


def _is_sick(kind: str, body: Mapping[str, Any], asked: str) -> bool:
    return kind == "rind_note" and body["note"] == asked and not body.get("gone")


def _saw(kind: str, body: Mapping[str, Any]) -> bool:
    return kind in {"looked", "rind_note"} or (kind == "care" and bool(body.get("nothing_new")))


def _entries(db: Connection, span: Span) -> Iterable[Any]:
    """The entries that say something about a wheel of the time, without what was corrected or undone, in order."""
    c = tables.entry.c
    first_at = min(span.sick_from_at, span.from_at - BEFORE)
    asked: list[ColumnElement[bool]] = [
        c.kind.in_(("rind_note", "looked", "care", "weighing", "moved")),
        c.happened_at >= first_at,
        c.happened_at <= span.until_at,
    ]
    out = out_where(db, *asked)
    columns = (c.id, c.kind, c.wheel_id, c.gear_id, c.who, c.happened_at, c.body)
    rows = db.execute(select(*columns).where(*asked).order_by(c.happened_at, c.id))
    return (row for row in rows if row.id not in out and row.wheel_id)


def _stood(db: Connection, span: Span, sick_at: Mapping[str, datetime]) -> dict[str, dict[str, timedelta]]:
    """How long each wheel stood in each place within the time; of a sick one, until it was seen."""
    c = tables.stay.c
    rows = db.execute(
        select(c.wheel_id, c.place_id, c.from_at, c.to_at).where(
            c.from_at <= span.to_at, c.to_at.is_(None) | (c.to_at > span.from_at), c.place_id.is_not(None)
        )
    )
    found: dict[str, dict[str, timedelta]] = {}
    for row in rows:
        ill_at = max(sick_at.get(row.wheel_id, span.to_at), span.from_at)
        end_at = min(span.to_at, ill_at, row.to_at or span.to_at)
        length = end_at - max(row.from_at, span.from_at)
        if length >= timedelta():
            own = found.setdefault(row.wheel_id, {})
            own[row.place_id] = own.get(row.place_id, timedelta()) + length
    return found


def _places(db: Connection) -> tuple[dict[str, str], dict[tuple[str, str], str]]:
    """The place whose air a place has (a shelf has that of what it stands in), and what places are called."""
    known = {place.id: place for place in places(db)}
    air = {}
    for place in known.values():
        step, seen = place, {place.id}
        while step.kind == "shelf" and step.parent_id in known and step.parent_id not in seen:
            step = known[step.parent_id]
            seen.add(step.id)
        air[place.id] = step.id
    names = {(PLACE, place.id): place.name for place in known.values()}
    return air, names | {("shelf", place.id): place.name for place in known.values()}


def _gear_names(db: Connection) -> dict[tuple[str, str], str]:
    return {(factor, own.id): own.name for own in gear(db) for factor in ("board", "wash", "brine")}
