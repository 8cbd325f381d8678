"""Readings that people type: kept once, corrected by adding, taken from here into the readings by the collector."""

import uuid
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy import Connection, func, insert, select, text

from collector.errors import EntryRefused
from collector.records.columns import new_id, to_ms
from collector.records.facts import Place, Placement
from collector.records.places import add_fact, load_facts
from collector.records.tables import typed_reading
from collector.typed import typed_probe
from dashboard.household import Household
from dashboard.moments_typed import moment_typed
from dashboard.probes.choices import choose
from dashboard.typed_air import humidity_pct, temperature_c

LONGEST_INSTRUMENT = 80
SHOWN = 6
OUTSIDE = "outside"


@dataclass(frozen=True, slots=True)
class Typed:
    """One reading as typed; None is a value that was not read. `replaces` names the one that it corrects."""

    id: str
    place_id: str
    instrument: str
    temperature_c: float | None
    humidity_pct: float | None
    done_at: datetime
    replaces: str | None = None


COLUMNS = tuple(typed_reading.c[name] for name in Typed.__dataclass_fields__)


def read(texts: Mapping[str, str], household: Household, now_at: datetime) -> Typed:
    """A reading out of a form.

    Raises:
        EntryRefused: no value, a value that cannot be, an instrument without a name, or a time that cannot be.
    """
    place_id = texts.get("place", "")
    warm, damp = _below_zero(texts), texts.get("humidity", "").strip()
    if not warm and not damp:
        raise EntryRefused("temperature", "Type a temperature, a humidity, or both.")
    return Typed(
        id_of(texts.get("id", "")),
        place_id,
        instrument_typed(texts.get("instrument", "")),
        temperature_c(warm, household, "temperature") if warm else None,
        humidity_pct(damp, "humidity") if damp else None,
        moment_typed(texts.get("at", ""), household, now_at, "at"),
    )


def _below_zero(texts: Mapping[str, str]) -> str:
    """The temperature with its sign: the keypad of some phones has none."""
    warm = texts.get("temperature", "").strip()
    return f"-{warm}" if warm and texts.get("below_zero") and warm[0].isdigit() else warm


def instrument_typed(said: str) -> str:
    """The name of what was read.

    Raises:
        EntryRefused: blank, too long, or with a slash, which parts names.
    """
    name = " ".join(said.split())
    if not name:
        raise EntryRefused("instrument", "Name the instrument, like dial on the wall.")
    if len(name) > LONGEST_INSTRUMENT:
        raise EntryRefused(
            "instrument", f"A name may have at most {LONGEST_INSTRUMENT} characters; this has {len(name)}."
        )
    if "/" in name or not name.isprintable():
        raise EntryRefused("instrument", f"A name must not have / in it, got {name}.")
    return name


def id_of(said: str) -> str:
    """The id that the form was made with, or a new one when it is none (UUIDv7, RFC 9562)."""
    try:
        return str(uuid.UUID(said)) if uuid.UUID(said).version == 7 else new_id()
    except ValueError:
        return new_id()


@dataclass(frozen=True, slots=True)
class Keeper:
    """Who types, and when; `now_meant`: no other time was said, so that a second post of a form may come later."""

    id: str
    name: str
    now_at: datetime
    now_meant: bool = False


def keep(db: Connection, typed: Typed, place: Place, by: Keeper) -> bool:
    """Keep a reading, inside the caller's transaction; the same posted twice is kept once.

    Its instrument becomes a probe of the place from that time on, if it is none yet.

    Returns:
        False when it was there already.
    """
    before = one(db, typed.id)
    if before is not None and _is_same(before, typed, by.now_meant):
        return False
    # Going back in the browser gives a form with an old id: what is typed then is another reading.
    own_id = typed.id if before is None else new_id(to_ms(by.now_at))
    db.execute(insert(typed_reading), [{
        "id": own_id, "place_id": place.id, "instrument": typed.instrument, "temperature_c": typed.temperature_c,
        "humidity_pct": typed.humidity_pct, "replaces": typed.replaces, "who": by.id, "done_at": typed.done_at,
        "received_at": by.now_at, "seq": _next_seq(db),
    }])  # fmt: skip
    _place_instrument(db, typed, place, by)
    return True


def _is_same(before: Typed, typed: Typed, now_meant: bool) -> bool:
    return replace(before, done_at=typed.done_at) == typed and (now_meant or before.done_at == typed.done_at)


def _next_seq(db: Connection) -> int:
    """The place in the order in which the collector takes them; SQLite has locked all of it by now."""
    if db.dialect.name == "postgresql":
        db.execute(text("LOCK TABLE typed_reading IN EXCLUSIVE MODE"))
    return int(db.execute(select(func.coalesce(func.max(typed_reading.c.seq), 0))).scalar_one()) + 1


def _place_instrument(db: Connection, typed: Typed, place: Place, by: Keeper) -> None:
    probe = typed_probe(place.id, typed.instrument)
    placed = load_facts(db).placement_at(probe, "", typed.done_at)
    if placed is None or placed.place_id != place.id:
        site = OUTSIDE if place.kind == OUTSIDE else "air"
        add_fact(db, Placement(new_id(), typed.done_at, by.now_at, probe, site, place.id, by=by.name))
    choose(db, probe, name=typed.instrument, dismissed_at=None)


def one(db: Connection, reading_id: str) -> Typed | None:
    row = db.execute(select(*COLUMNS).where(typed_reading.c.id == reading_id)).first()
    return None if row is None else Typed(**row._mapping)


def correction(before: Typed, texts: Mapping[str, str], household: Household, now_at: datetime) -> Typed:
    """A reading that corrects one: same place, instrument and time; what is left blank stays as it was.

    Raises:
        EntryRefused: as for `read`.
    """
    typed = read({**texts, "place": before.place_id, "instrument": before.instrument, "at": ""}, household, now_at)
    return Typed(
        typed.id,
        before.place_id,
        before.instrument,
        before.temperature_c if typed.temperature_c is None else typed.temperature_c,
        before.humidity_pct if typed.humidity_pct is None else typed.humidity_pct,
        before.done_at,
        before.id,
    )


def newest(db: Connection, place_id: str) -> list[Typed]:
    """The last readings that were typed for a place and not corrected, newest first."""
    replaced = select(typed_reading.c.replaces).where(typed_reading.c.replaces.is_not(None))
    rows = db.execute(
        select(*COLUMNS)
        .where(typed_reading.c.place_id == place_id, typed_reading.c.id.not_in(replaced))
        .order_by(typed_reading.c.done_at.desc(), typed_reading.c.seq.desc())
        .limit(SHOWN)
    )
    return [Typed(**row._mapping) for row in rows]


def instruments(db: Connection, place_id: str) -> list[str]:
    """Every instrument that was ever read: those of the place first, the last used on top."""
    t = typed_reading.c
    here = t.place_id == place_id
    rows = db.execute(
        select(t.instrument)
        .group_by(t.instrument)
        .order_by(func.max(t.done_at).filter(here).desc().nulls_last(), func.max(t.done_at).desc())
    )
    return list(rows.scalars())
