"""Who stands where: the living wheels of each place by style, with the air that their style likes."""

from collections.abc import Iterable, Sequence

from sqlalchemy import Connection, func, select

from dashboard.wheels import tables
from dashboard.wheels.bodies.sheets import StyleSheet
from dashboard.wheels.book import Wheel
from dashboard.wheels.counts import ALIVE
from dashboard.wheels.kinds.coverings import COVERINGS
from dashboard.whom import Group, Limits


def residents(db: Connection) -> dict[str, list[Group]]:
    """The wheels of every place, the most numerous style first; wheels without a style are in no group."""
    w = tables.wheel.c
    rows = db.execute(
        select(w.place_id, w.style_id, w.covering, func.sum(w.pieces_left))
        .where(w.state == ALIVE, w.place_id.is_not(None), w.style_id.is_not(None))
        .group_by(w.place_id, w.style_id, w.covering)
    ).all()
    if not rows:
        return {}
    return _grouped(db, [(row[0], row[1], row[2], int(row[3])) for row in rows])


def groups_of(db: Connection, moving: Iterable[Wheel]) -> list[Group]:
    """Some wheels by style, wherever they stand."""
    rows = [("", wheel.style_id, wheel.covering, wheel.pieces_left) for wheel in moving if wheel.style_id]
    return _grouped(db, rows).get("", [])


def _grouped(db: Connection, rows: Sequence[tuple[str, str, str, int]]) -> dict[str, list[Group]]:
    """Groups of each place, out of place, style, covering and pieces."""
    sheets = {row.id: StyleSheet.model_validate(row.sheet) for row in db.execute(select(tables.style))}
    counts: dict[tuple[str, str, bool], int] = {}
    for place_id, style_id, covering, count in rows:
        key = (place_id, style_id, not _is_airtight(covering))
        counts[key] = counts.get(key, 0) + count
    found: dict[str, list[Group]] = {}
    for (place_id, style_id, open_to_air), count in sorted(counts.items(), key=lambda item: -item[1]):
        if style_id in sheets:
            found.setdefault(place_id, []).append(_group(sheets[style_id], count, open_to_air))
    return found


def _is_airtight(covering: str) -> bool:
    row = COVERINGS.get(covering)
    return row is not None and row.air_free


def _group(sheet: StyleSheet, count: int, open_to_air: bool) -> Group:
    # "tomme, natural rind" is called a tomme where room is scarce.
    word = (sheet.name or sheet.rind).split(",")[0].strip()
    likes = Limits(sheet.temperature_low_c, sheet.temperature_high_c, sheet.humidity_low_pct, sheet.humidity_high_pct)
    return Group(word if open_to_air else f"{word}, wrapped", count, likes, open_to_air)
