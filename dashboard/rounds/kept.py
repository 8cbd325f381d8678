"""What a phone keeps of each wheel, so that its entries can be made without a signal."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, and_, or_, select

from dashboard import words
from dashboard.household import Household
from dashboard.rounds.model import Round, Row
from dashboard.rounds.row_words import OwnWords, rind_word
from dashboard.wheels import tables
from dashboard.wheels.book import Gear, Wheel, gear, own_words
from dashboard.wheels.entry_rows import entries_where
from dashboard.wheels.kinds.care import CARE_KINDS
from dashboard.wheels.plausible import plausible_range_g

DAY_S = 86_400
WETS = frozenset(name for name, kind in CARE_KINDS.items() if kind.wets)


def kept_wheels(
    db: Connection, wheels: Sequence[Row], now_at: datetime, household: Household
) -> dict[str, dict[str, Any]]:
    """By wheel id: its code and words, the weights that need no question, board, open rind notes and last photo."""
    own = own_words(db)
    last, changed = _last_weighings(db), _changed_since(db)
    found = {
        row.wheel.id: _kept(row, last.get(row.wheel.id, {}), row.wheel.id in changed, now_at, household, own)
        for row in wheels
    }
    for wheel_id, small_hash in _last_photos(db).items():
        if wheel_id in found:
            found[wheel_id]["photo"] = f"/photos/{small_hash}.jpg"
    return found


def kept_round(db: Connection, found: Round, household: Household) -> dict[str, Any]:
    """The whole round as a phone keeps it, with its time."""
    everything = [row for shelf in found.shelves for row in shelf.rows]
    return {
        "at": found.as_of_at.isoformat(),
        "as_of": words.clock_time(found.as_of_at, household),
        "wheels": kept_wheels(db, everything, found.as_of_at, household),
    }


def _kept(
    row: Row, last: Mapping[str, Any], changed: bool, now_at: datetime, household: Household, own: OwnWords
) -> dict[str, Any]:
    wheel = row.wheel
    kept: dict[str, Any] = {"code": wheel.code, "about": row.about}
    if wheel.net_g and wheel.weighed_at:
        kept["last"] = f"{words.weight(wheel.net_g, household)} on {words.short_date(wheel.weighed_at, household)}"
        kept["last_g"] = round(wheel.net_g, 1)
        if not changed:
            kept |= _range(wheel, now_at, last.get("step_g") or 0.0)
    kept |= {name: last[f"{name}_id"] for name in ("board", "scale") if last.get(f"{name}_id")}
    if wheel.pieces_left > 1:
        kept["pieces"] = wheel.pieces_left
    if wheel.notes_at:
        kept["notes"] = [
            [name, rind_word(name, own), words.short_date(at, household)] for name, at in wheel.notes_at.items()
        ]
    clean_at = wheel.last_at.get("clean")
    if clean_at:
        kept["clean"] = words.short_date(clean_at, household)
    return kept


def _range(wheel: Wheel, now_at: datetime, step_g: float) -> dict[str, float]:
    """The weights that need no question: dry from low to high, wet up to wet_high."""
    assert wheel.net_g is not None
    assert wheel.weighed_at is not None
    days = max((now_at - wheel.weighed_at).total_seconds() / DAY_S, 0.0)
    low_g, high_g = plausible_range_g(wheel.net_g, days, step_g=step_g)
    _low, wet_high_g = plausible_range_g(wheel.net_g, days, wet=True, step_g=step_g)
    wetted = any(wheel.last_at[name] >= wheel.weighed_at for name in WETS & wheel.last_at.keys())
    found = {"low_g": low_g, "high_g": wet_high_g if wetted else high_g, "wet_high_g": wet_high_g}
    return {name: round(grams, 1) for name, grams in found.items()}


def _last_weighings(db: Connection) -> dict[str, Mapping[str, Any]]:
    """On which board and scale each living wheel was weighed last."""
    e, w = tables.entry.c, tables.wheel.c
    query = (
        select(e.wheel_id, e.kind, e.body)
        .join_from(tables.wheel, tables.entry, and_(e.wheel_id == w.id, e.happened_at == w.weighed_at))
        .where(w.state == "alive")
    )
    # The kind is looked at here: asked of the database, it would go through every weighing there ever was.
    return {row.wheel_id: row.body for row in db.execute(query) if row.kind == "weighing"}


def _last_photos(db: Connection) -> dict[str, str]:
    """Each living wheel's last photo of its own, small; one of the whole shelf is of no wheel in particular."""
    e, w, r, p = tables.entry.c, tables.wheel.c, tables.photo_ref.c, tables.photo.c
    query = (
        select(e.wheel_id, p.small_hash)
        .join_from(tables.photo_ref, tables.photo, r.photo_id == p.id)
        .join(tables.entry, r.entry_id == e.id)
        .join(tables.wheel, e.wheel_id == w.id)
        .where(w.state == "alive", e.kind != "looked", e.id.not_in(select(e.replaces).where(e.replaces.is_not(None))))
        .order_by(e.happened_at, e.id, r.number)
    )
    return {row.wheel_id: row.small_hash for row in db.execute(query)}


def last_boards(db: Connection) -> dict[str, Gear]:
    """The board on which each living wheel was weighed last, where it was on one that is still in use."""
    boards = {one.id: one for one in gear(db, tables.gear.c.gear == "board", tables.gear.c.retired.is_(False))}
    named = {wheel_id: body.get("board_id", "") for wheel_id, body in _last_weighings(db).items()}
    return {wheel_id: boards[board_id] for wheel_id, board_id in named.items() if board_id in boards}


def _changed_since(db: Connection) -> set[str]:
    """Living wheels from which something was taken, or which were covered, since their last weighing."""
    e, w = tables.entry.c, tables.wheel.c
    query = (
        select(e.wheel_id)
        .join_from(tables.wheel, tables.entry, and_(e.wheel_id == w.id, e.happened_at >= w.weighed_at))
        .where(w.state == "alive", e.kind.in_(("took_out", "covered")))
    )
    return set(db.execute(query).scalars())


def lately(db: Connection, wheel_id: str, limit: int = 12) -> list[Any]:
    """The latest entries about a wheel that still stand, the newest first."""
    c = tables.entry.c
    recent = select(c.id).where(c.wheel_id == wheel_id).order_by(c.happened_at.desc(), c.id.desc()).limit(4 * limit)
    ids = list(db.execute(recent).scalars())
    undone = set(db.execute(select(c.replaces).where(c.replaces.in_(ids))).scalars())
    found = [e for e in entries_where(db, or_(c.id.in_(ids))) if e.id not in undone and e.kind != "withdrawn"]
    return found[::-1][:limit]
