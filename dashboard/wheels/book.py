"""The book as pages read it: wheels, makes, styles, gear, and one wheel with all its life. Only reads."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, RowMapping, Table, func, select

from collector.records.columns import from_ms
from dashboard.wheels import tables
from dashboard.wheels.bodies.base import Body
from dashboard.wheels.bodies.make import MakeSheet
from dashboard.wheels.bodies.sheets import GearSheet, StyleSheet, WheelSheet
from dashboard.wheels.care_plan import Due, due
from dashboard.wheels.codes import read_short_code
from dashboard.wheels.entry_rows import handfuls, out_where, standing_where
from dashboard.wheels.history import History, age_d, history_of
from dashboard.wheels.kept_by_wheel import KeptByWheel
from dashboard.wheels.model import Entry, in_order
from dashboard.wheels.shelf_photos import seen_in
from dashboard.wheels.timeline import Mark, timeline
from dashboard.wheels.wheel_rows import origin_of

Sheet = TypeVar("Sheet", bound=Body)


@dataclass(frozen=True, slots=True)
class Wheel:
    """A wheel as it stands now; see tables.wheel.

    Args:
        net_g: last net weight; of a batch, of one piece. loss_pct: lost since `start`, at the last weighing.
        last_at: when each care and look was last done, by the names of `history.last_done`.
        notes_at: rind notes that nobody has said are gone, and since when.
    """

    id: str
    code: str
    make_id: str | None
    style_id: str | None
    parent_id: str | None
    made_on: date | None
    state: str
    state_at: datetime | None
    pieces_left: int
    place_id: str | None
    place_since_at: datetime | None
    spot: str
    position: int | None
    covering: str
    coats: int
    net_g: float | None
    weighed_at: datetime | None
    start: str | None
    start_g: float | None
    loss_pct: float | None
    sheet: WheelSheet
    last_at: Mapping[str, datetime] = field(default_factory=dict)
    notes_at: Mapping[str, datetime] = field(default_factory=dict)

    @property
    def alive(self) -> bool:
        return self.state == "alive"

    def last_on(self, zone: ZoneInfo) -> dict[str, date]:
        """`last_at` as dates of the household."""
        return {name: at.astimezone(zone).date() for name, at in self.last_at.items()}

    def age_d(self, today: date) -> int | None:
        """Age in days on a local date; None where the day of making is not known."""
        return age_d(self.made_on, today)


@dataclass(frozen=True, slots=True)
class Style:
    """A style of the household."""

    id: str
    sheet: StyleSheet


@dataclass(frozen=True, slots=True)
class Make:
    """One vat."""

    id: str
    code: str
    made_on: date | None
    style_id: str | None
    sheet: MakeSheet


@dataclass(frozen=True, slots=True)
class Gear:
    """A board, scale, brine tub, wash jar, brush."""

    id: str
    gear: str
    name: str
    place_id: str | None
    retired: bool
    sheet: GearSheet


@dataclass(frozen=True, slots=True)
class WheelBook:
    """One wheel with all that the book holds of it."""

    wheel: Wheel
    history: History
    entries: Sequence[Entry]
    marks: Sequence[Mark]
    parts: Sequence[Wheel]


def wheels(connection: Connection, *conditions: Any) -> list[Wheel]:
    """The wheels that meet conditions on tables.wheel, by place, position and code."""
    c = tables.wheel.c
    rows = connection.execute(select(tables.wheel).where(*conditions).order_by(c.place_id, c.position, c.code, c.id))
    return [_wheel(row) for row in rows.mappings()]


def _read_living(connection: Connection, wheel_ids: Collection[str] | None) -> dict[str, Wheel]:
    c = tables.wheel.c
    some = [] if wheel_ids is None else [c.id.in_(wheel_ids)]
    return {wheel.id: wheel for wheel in wheels(connection, c.state == "alive", *some)}


_LIVING = KeptByWheel(_read_living)


def living(connection: Connection) -> list[Wheel]:
    """The wheels that are still there, by place, position and code; the same values until an entry changes one."""
    return sorted(_LIVING.get(connection).values(), key=_where_it_stands)


def _where_it_stands(wheel: Wheel) -> tuple[object, ...]:
    return wheel.place_id or "", wheel.position is not None, wheel.position or 0, wheel.code, wheel.id


_WHEEL_PLAIN = tuple(c.name for c in tables.wheel.c if c.name not in {"sheet", "last", "notes"})


def _wheel(row: RowMapping) -> Wheel:
    plain: dict[str, Any] = {name: row[name] for name in _WHEEL_PLAIN}
    sheet = WheelSheet.model_validate(row["sheet"])
    return Wheel(**plain, sheet=sheet, last_at=_times(row["last"]), notes_at=_times(row["notes"]))


def _times(kept: Mapping[str, int]) -> dict[str, datetime]:
    return {name: from_ms(ms) for name, ms in kept.items()}


def codes_of(connection: Connection, wheel_ids: Iterable[str]) -> dict[str, str]:
    """The codes of some wheels, in the order asked for; what the book does not know is left out."""
    ids, c = list(wheel_ids), tables.wheel.c
    rows = (row for some in handfuls(ids) for row in connection.execute(select(c.id, c.code).where(c.id.in_(some))))
    codes = {row.id: row.code for row in rows}
    return {wheel_id: codes[wheel_id] for wheel_id in ids if wheel_id in codes}


def find(connection: Connection, text: str) -> list[Wheel]:
    """Wheels by what somebody typed or a label says: the person's own code, else our short code."""
    by_code = wheels(connection, func.lower(tables.wheel.c.code) == text.strip().lower())
    code = read_short_code(text)
    if by_code or code is None:
        return by_code
    subject = select(tables.label.c.subject_id).where(tables.label.c.code == code, tables.label.c.of == "wheel")
    return wheels(connection, tables.wheel.c.id.in_(subject))


def wheel_book(connection: Connection, wheel_id: str) -> WheelBook | None:
    """One wheel with its entries, history, marks and parts; None if the book has no such wheel."""
    c = tables.wheel.c
    found = wheels(connection, c.id == wheel_id)
    if not found:
        return None
    entries = standing_where(connection, tables.entry.c.wheel_id == wheel_id)
    history = history_of(entries, origin_of(connection, wheel_id))
    marks = timeline(in_order([*entries, *seen_in(connection, wheel_id)]), history.losses, own_words(connection))
    parts = wheels(connection, c.parent_id == wheel_id)
    return WheelBook(found[0], history, entries, marks, parts)


OF_WEIGHT = ("wheel", "weighing", "tasting", "took_out", "covered", "cut", "lifted", "counted", "ended")
"""The kinds of entry that weights, losses, tastings and ends hang on."""


def weight_books(connection: Connection, wheel_ids: Sequence[str]) -> list[WheelBook]:
    """Some wheels with what `OF_WEIGHT` says of them, in the order asked for; no care, no notes, no stays, no parts.

    Several wheels are read in one look, and the care of years is left alone: for charts of loss.
    """
    found = {
        wheel.id: wheel for some in handfuls(wheel_ids) for wheel in wheels(connection, tables.wheel.c.id.in_(some))
    }
    c = tables.entry.c
    # Wrapped, so that no index is tried for it: all weighings of all years are more than all entries of some wheels.
    of_weight = func.coalesce(c.kind, "").in_(OF_WEIGHT)
    by_wheel: dict[str, list[Entry]] = {}
    for some in handfuls(found):
        for entry in standing_where(connection, c.wheel_id.in_(some), of_weight):
            by_wheel.setdefault(str(entry.wheel_id), []).append(entry)
    return [_weight_book(connection, found[id_], by_wheel.get(id_, [])) for id_ in wheel_ids if id_ in found]


def _weight_book(connection: Connection, wheel: Wheel, entries: list[Entry]) -> WheelBook:
    history = history_of(entries, origin_of(connection, wheel.id) if wheel.parent_id else None)
    return WheelBook(wheel, history, entries, timeline(entries, history.losses), ())


def own_words(connection: Connection) -> dict[tuple[str, str], str]:
    """The household's own words by (of, name)."""
    rows = connection.execute(select(tables.own_kind))
    return {(row.of, row.name): row.word for row in rows}


def styles(connection: Connection) -> list[Style]:
    """The household's styles by name."""
    rows = _rows(connection, tables.style, tables.style.c.name)
    return [Style(row["id"], StyleSheet.model_validate(row["sheet"])) for row in rows]


def makes(connection: Connection, *conditions: Any) -> list[Make]:
    """The makes that meet conditions on tables.make, the latest first."""
    statement = select(tables.make).where(*conditions)
    rows = connection.execute(statement.order_by(tables.make.c.made_on.desc(), tables.make.c.id.desc())).mappings()
    return [
        Make(row["id"], row["code"], row["made_on"], row["style_id"], MakeSheet.model_validate(row["sheet"]))
        for row in rows
    ]


def gear(connection: Connection, *conditions: Any) -> list[Gear]:
    """Gear that meets conditions on tables.gear, by kind and name."""
    statement = select(tables.gear).where(*conditions).order_by(tables.gear.c.gear, tables.gear.c.name)
    names = ("id", "gear", "name", "place_id", "retired")
    return [
        Gear(**{name: row[name] for name in names}, sheet=GearSheet.model_validate(row["sheet"]))
        for row in connection.execute(statement).mappings()
    ]


def _rows(connection: Connection, table: Table, order: Any) -> list[RowMapping]:
    return list(connection.execute(select(table).order_by(order)).mappings())


def due_of(wheel: Wheel, style: Style | None, today: date, zone: ZoneInfo) -> list[Due]:
    """The care that is due to a living wheel by its style's plan, the earliest first."""
    if style is None or not wheel.alive:
        return []
    made_on = wheel.made_on or _known_since(wheel, zone)
    if made_on is None:
        return []
    return due(style.sheet.plan, made_on, wheel.last_on(zone), today, wheel.covering)


def _known_since(wheel: Wheel, zone: ZoneInfo) -> date | None:
    """A wheel of unknown age is planned for as if it were made when the book first heard of it."""
    begun = wheel.last_at.get("begun")
    return begun.astimezone(zone).date() if begun else None


def chores_done(connection: Connection, place_id: str | None = None) -> dict[tuple[str, str], datetime]:
    """When each chore was last done, by (place, chore)."""
    c = tables.entry.c
    conditions = [c.kind == "chore"] + ([c.place_id == place_id] if place_id else [])
    out = out_where(connection, *conditions)
    rows = connection.execute(
        select(c.id, c.place_id, c.happened_at, c.body).where(*conditions).order_by(c.happened_at)
    )
    return {(row.place_id, row.body["chore"]): row.happened_at for row in rows if row.id not in out}


def gear_history(connection: Connection, gear_id: str) -> list[Entry]:
    """What was measured or done on a piece of gear, and the care that used it, in order."""
    return [e for e in standing_where(connection, tables.entry.c.gear_id == gear_id) if e.kind != "gear"]


def stays_in(connection: Connection, place_ids: Sequence[str], from_at: datetime, to_at: datetime) -> list[RowMapping]:
    """Rows of tables.stay: which wheel stood in these places within a span, and under what."""
    c = tables.stay.c
    overlaps = (c.from_at < to_at) & ((c.to_at.is_(None)) | (c.to_at > from_at))
    statement = select(tables.stay).where(c.place_id.in_(list(place_ids)), overlaps)
    return list(connection.execute(statement.order_by(c.from_at, c.wheel_id)).mappings())
