"""The rows of *Vat or cave?*, filled from the book: which wheels of a time were sick, and what each came through.

Only reads. A wheel is sick when the note was made on it, clean when somebody saw its rind afterwards and made no such
note, and else nobody knows: turning alone is not looking.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from sqlalchemy import Connection, select

from collector.records.columns import to_ms
from collector.records.places import places
from dashboard.lookback.compared import PLACE, WheelSeen
from dashboard.wheels import tables
from dashboard.wheels.book import Make, gear
from dashboard.wheels.vat_entries import looked_at, sick_since, stood_in
from dashboard.wheels.vat_sheets import makes_of, shared_of
from dashboard.wheels.vat_time import Span
from dashboard.wheels.vat_touched import touched

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
    there = _there(db, span)
    sick_at = sick_since(db, span)
    air, names = _places(db)
    came = _Came(stood_in(db, span, sick_at), looked_at(db, span), sick_at, touched(db, span, sick_at), air)
    vats = makes_of(db, {wheel.make_id for wheel in there if wheel.make_id})
    shared = {make.id: shared_of(make.sheet) for make in vats}
    rows = tuple(came.row(wheel, shared) for wheel in there)
    made_on = {wheel.make: wheel.made_on for wheel in there if wheel.made_on and not wheel.make_id}
    return VatRows(rows, names | _gear_names(db), tuple(vats), made_on, span)


@dataclass(frozen=True, slots=True)
class _There:
    """A wheel that was there within the time."""

    id: str
    code: str
    make_id: str | None
    style_id: str | None
    made_on: date | None

    @property
    def make(self) -> str:
        """Its vat; of a wheel without a make, whatever of its style was made that day; "" if nobody knows."""
        if self.make_id:
            return self.make_id
        return f"{self.made_on.isoformat()} {self.style_id or ''}" if self.made_on else ""


def _there(db: Connection, span: Span) -> list[_There]:
    c = tables.wheel.c
    rows = db.execute(
        select(c.id, c.code, c.make_id, c.style_id, c.made_on, c.last["begun"].as_string().label("begun"))
        .where(c.state_at.is_(None) | (c.state_at > span.from_at))
        .order_by(c.code, c.id)
    )
    until_ms = to_ms(span.to_at)
    return [
        _There(row.id, row.code, row.make_id, row.style_id, row.made_on)
        for row in rows
        if row.begun is not None and int(row.begun) <= until_ms
    ]


@dataclass(frozen=True, slots=True)
class _Came:
    """What the wheels came through: where they stood, who was looked at, who was sick, what touched them."""

    stood: Mapping[str, Mapping[str, int]]
    looked: frozenset[str]
    sick_at: Mapping[str, int]
    touched: Mapping[str, Mapping[str, frozenset[str]]]
    air: Mapping[str, str]

    def row(self, wheel: _There, vats: Mapping[str, Mapping[str, frozenset[str]]]) -> WheelSeen:
        stood = self.stood.get(wheel.id, {})
        longest: dict[str, int] = {}
        for place_id, length_ms in stood.items():
            own = self.air.get(place_id, place_id)
            longest[own] = longest.get(own, 0) + length_ms
        shelves = frozenset(place_id for place_id in stood if self.air.get(place_id, place_id) != place_id)
        return WheelSeen(
            wheel_id=wheel.id,
            code=wheel.code or "without a code",
            make=wheel.make,
            places=tuple(sorted(longest, key=lambda place: (-longest[place], place))),
            sick=True if wheel.id in self.sick_at else False if wheel.id in self.looked else None,
            shared={**vats.get(wheel.make, {}), "shelf": shelves, **self.touched.get(wheel.id, {})},
        )


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
