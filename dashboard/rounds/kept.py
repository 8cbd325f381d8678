"""What a phone keeps of each wheel, so that its entries can be made without a signal."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from markupsafe import Markup
from sqlalchemy import Connection, and_, func, or_, select

from dashboard import words
from dashboard.charts.figure_text import figure_json
from dashboard.household import Household
from dashboard.rounds.model import Row
from dashboard.rounds.row_words import OwnWords, rind_word
from dashboard.wheels import tables
from dashboard.wheels.book import Gear, Wheel, gear, own_words
from dashboard.wheels.entry_rows import entries_where
from dashboard.wheels.kept_by_facts import KeptByFacts
from dashboard.wheels.kept_by_wheel import KeptByWheel
from dashboard.wheels.kinds.care import CARE_KINDS
from dashboard.wheels.plausible import plausible_range_g

DAY_S = 86_400
WETS = frozenset(name for name, kind in CARE_KINDS.items() if kind.wets)


@dataclass(frozen=True, slots=True)
class Weighed:
    """What else the book says of a living wheel that its phone form needs.

    Args:
        board_id, scale_id: of its last weighing, "" where nobody said; step_g: of that scale.
        changed: something was taken from it, or it was covered, since then.
        photo: the file of its last photo of its own, small; "" without one.
    """

    board_id: str = ""
    scale_id: str = ""
    step_g: float = 0.0
    changed: bool = False
    photo: str = ""


@dataclass(frozen=True, slots=True)
class KeptWheel:
    """What a phone keeps of one wheel, as a value and as text for a page."""

    value: dict[str, Any]
    text: Markup


def kept_wheels(db: Connection, rows: Sequence[Row], now_at: datetime, household: Household) -> dict[str, KeptWheel]:
    """By wheel id: its code and words, the weights that need no question, board, open rind notes and last photo."""
    own, weighed = own_words(db), _WEIGHED.get(db)
    ids = [(row.wheel.id, row) for row in rows]
    return {id_: _kept_wheel(row, weighed.get(id_, Weighed()), now_at, household, own) for id_, row in ids}


def text_of(found: Mapping[str, KeptWheel]) -> Markup:
    """All of it as one text for `<script type="application/json">`."""
    wheels = ",".join(f'"{wheel_id}":{one.text}' for wheel_id, one in found.items())
    return Markup(f'{{"wheels":{{{wheels}}}}}')  # noqa: S704 # nosec B704: its parts are figure_json's


def _kept_wheel(row: Row, last: Weighed, now_at: datetime, household: Household, own: OwnWords) -> KeptWheel:
    """One wheel, made anew once an hour: the weights that need no question widen with time, by a gram in some hours."""
    hour = words.local(now_at, household).strftime("%Y-%m-%d %H")
    facts = (row, last, hour, household, own)
    return _KEPT.get(row.wheel.id, facts, lambda: _made(row, last, now_at, household, own))


def _made(row: Row, last: Weighed, now_at: datetime, household: Household, own: OwnWords) -> KeptWheel:
    wheel = row.wheel
    kept: dict[str, Any] = {"code": wheel.code, "about": row.about}
    if wheel.net_g and wheel.weighed_at:
        kept["last"] = f"{words.weight(wheel.net_g, household)} on {words.short_date(wheel.weighed_at, household)}"
        kept["last_g"] = round(wheel.net_g, 1)
        if not last.changed:
            kept |= _range(wheel, now_at, last.step_g)
    kept |= {name: said for name, said in (("board", last.board_id), ("scale", last.scale_id)) if said}
    if wheel.pieces_left > 1:
        kept["pieces"] = wheel.pieces_left
    if wheel.notes_at:
        kept["notes"] = [
            [name, rind_word(name, own), words.short_date(at, household)] for name, at in wheel.notes_at.items()
        ]
    clean_at = wheel.last_at.get("clean")
    if clean_at:
        kept["clean"] = words.short_date(clean_at, household)
    if last.photo:
        kept["photo"] = f"/photos/{last.photo}.jpg"
    return KeptWheel(kept, figure_json(kept))


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


def _read_weighed(db: Connection, wheel_ids: Collection[str] | None) -> dict[str, Weighed]:
    last, changed, photos = _last_weighings(db, wheel_ids), _changed_since(db, wheel_ids), _last_photos(db, wheel_ids)
    found = {}
    for wheel_id in last.keys() | photos.keys():
        said = last.get(wheel_id, {})
        found[wheel_id] = Weighed(
            said.get("board_id") or "",
            said.get("scale_id") or "",
            said.get("step_g") or 0.0,
            wheel_id in changed,
            photos.get(wheel_id, ""),
        )
    return found


_WEIGHED, _KEPT = KeptByWheel(_read_weighed), KeptByFacts[KeptWheel]()


def _there(wheel_ids: Collection[str] | None) -> list[Any]:
    """Of the living wheels, all or some."""
    c = tables.wheel.c
    return [c.state == "alive", *([] if wheel_ids is None else [c.id.in_(wheel_ids)])]


def _last_weighings(db: Connection, wheel_ids: Collection[str] | None = None) -> dict[str, Mapping[str, Any]]:
    """On which board and scale each living wheel was weighed last."""
    e, w = tables.entry.c, tables.wheel.c
    query = (
        select(e.wheel_id, e.kind, e.body)
        .join_from(tables.wheel, tables.entry, and_(e.wheel_id == w.id, e.happened_at == w.weighed_at))
        .where(*_there(wheel_ids))
    )
    # The kind is looked at here: asked of the database, it would go through every weighing there ever was.
    return {row.wheel_id: row.body for row in db.execute(query) if row.kind == "weighing"}


def _last_photos(db: Connection, wheel_ids: Collection[str] | None) -> dict[str, str]:
    """Each living wheel's last photo of its own, small; one of the whole shelf is of no wheel in particular."""
    e, w, r, p = tables.entry.c, tables.wheel.c, tables.photo_ref.c, tables.photo.c
    # Wrapped for all wheels, so that the few photos are gone through and not all that was ever entered of a wheel.
    of_wheel = e.wheel_id if wheel_ids is not None else func.coalesce(e.wheel_id, "")
    query = (
        select(e.wheel_id, p.small_hash)
        .join_from(tables.photo_ref, tables.photo, r.photo_id == p.id)
        .join(tables.entry, r.entry_id == e.id)
        .where(of_wheel.in_(select(w.id).where(*_there(wheel_ids))), e.kind != "looked")
        .where(e.id.not_in(select(e.replaces).where(e.replaces.is_not(None))))
        .order_by(e.happened_at, e.id, r.number)
    )
    return {row.wheel_id: row.small_hash for row in db.execute(query)}


def last_boards(db: Connection) -> dict[str, Gear]:
    """The board on which each living wheel was weighed last, where it was on one that is still in use."""
    boards = {one.id: one for one in gear(db, tables.gear.c.gear == "board", tables.gear.c.retired.is_(False))}
    named = {wheel_id: one.board_id for wheel_id, one in _WEIGHED.get(db).items()}
    return {wheel_id: boards[board_id] for wheel_id, board_id in named.items() if board_id in boards}


def _changed_since(db: Connection, wheel_ids: Collection[str] | None) -> set[str]:
    """Living wheels from which something was taken, or which were covered, since their last weighing."""
    e, w = tables.entry.c, tables.wheel.c
    query = (
        select(e.wheel_id)
        .join_from(tables.wheel, tables.entry, and_(e.wheel_id == w.id, e.happened_at >= w.weighed_at))
        .where(*_there(wheel_ids), e.kind.in_(("took_out", "covered")))
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
