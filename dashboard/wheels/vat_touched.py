"""What touched each wheel within a time: the hands, washes and boards of its care and weighings. Only reads.

The times of a living wheel are kept from page to page and read anew when an entry about it comes; of wheels that are
gone, those that were there in the time asked about are read each time. Years of care are gathered where they lie, in
the database. Times are ms.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Collection, Mapping, Sequence
from datetime import timedelta
from typing import Any

from sqlalchemy import BigInteger, ColumnElement, Connection, Select, String, cast, func, select, type_coerce

from collector.records.columns import to_ms
from dashboard.wheels import tables
from dashboard.wheels.counts import ALIVE
from dashboard.wheels.entry_rows import handfuls
from dashboard.wheels.kept_by_wheel import KeptByWheel
from dashboard.wheels.vat_entries import stands
from dashboard.wheels.vat_time import Span

BEFORE = timedelta(days=90)  # how far back a weighing or move still tells the board; our choice
WHO, WASH, BOARD = "who", "wash", "board"
Times = Mapping[tuple[str, str], Sequence[int]]
"""When a wheel was touched by what, by (factor, value), each in order."""

_E, _W = tables.entry.c, tables.wheel.c
# Wrapped, so that entries are found by their wheel: all care of all wheels is far more.
_KIND = func.coalesce(_E.kind, "")
# As one text a wheel and value: a row for each entry would take longer to hand over than to find.
_ALL_TIMES = func.aggregate_strings(cast(type_coerce(_E.happened_at, BigInteger), String), ",")


def touched(db: Connection, span: Span, sick_at: Mapping[str, int]) -> dict[str, dict[str, frozenset[str]]]:
    """The board, the washes and the hands of each wheel; of a sick one, before it was noted: a cure is no cause."""
    known = {**_TIMES.get(db), **_of_the_gone(db, span)}
    first_ms, last_ms, board_ms = to_ms(span.from_at), to_ms(span.to_at), to_ms(span.from_at - BEFORE)
    found = {}
    for wheel_id, times in known.items():
        until_ms = min(sick_at.get(wheel_id, last_ms), last_ms)
        board = _last_board(times, board_ms, until_ms)
        own: dict[str, set[str]] = {BOARD: {board}} if board else {}
        for (factor, value), at in times.items():
            if factor != BOARD and _within(at, first_ms, until_ms):
                own.setdefault(factor, set()).add(value)
        found[wheel_id] = {factor: frozenset(values) for factor, values in own.items()}
    return found


def _within(times: Sequence[int], first_ms: int, last_ms: int) -> bool:
    place = bisect_left(times, first_ms)
    return place < len(times) and times[place] <= last_ms


def _last_board(times: Times, first_ms: int, last_ms: int) -> str:
    """The board that was named last within the time; "" for none."""
    latest, board = first_ms - 1, ""
    for (of, value), at in times.items():
        place = bisect_right(at, last_ms) if of == BOARD else 0
        if place and at[place - 1] > latest:
            latest, board = at[place - 1], value
    return board


def _of_the_gone(db: Connection, span: Span) -> dict[str, Times]:
    """Of wheels that are no longer there, those that ended within the time or since."""
    gone = select(_W.id).where(_W.state != ALIVE, _W.state_at.is_(None) | (_W.state_at > span.from_at))
    ids = db.execute(gone).scalars().all()
    return {wheel_id: own for some in handfuls(ids) for wheel_id, own in _read(db, _E.wheel_id.in_(some)).items()}


def _read_living(db: Connection, wheel_ids: Collection[str] | None) -> dict[str, Times]:
    some = [] if wheel_ids is None else [_W.id.in_(wheel_ids)]
    return _read(db, _E.wheel_id.in_(select(_W.id).where(_W.state == ALIVE, *some)))


_TIMES = KeptByWheel(_read_living)


def _care(of_wheels: ColumnElement[bool]) -> Select[Any]:
    """Wheel, who, gear, wash in words, and all times of care that was so."""
    told = (_E.wheel_id, _E.who, _E.gear_id, _E.body["with_what"].as_string())
    return select(*told, _ALL_TIMES).where(of_wheels, _KIND == "care", stands()).group_by(*told)


def _boards(of_wheels: ColumnElement[bool]) -> Select[Any]:
    """Wheel, board, and all times at which it was named."""
    told = (_E.wheel_id, _E.body["board_id"].as_string())
    named = (_KIND.in_(("weighing", "moved")), told[1].is_not(None))
    return select(*told, _ALL_TIMES).where(of_wheels, *named, stands()).group_by(*told)


def _times(texts: str) -> list[int]:
    return [int(text) for text in texts.split(",")]


def _read(db: Connection, of_wheels: ColumnElement[bool]) -> dict[str, Times]:
    found: dict[str, dict[tuple[str, str], list[int]]] = {}
    for wheel_id, who, gear_id, with_what, texts in db.execute(_care(of_wheels)):
        own, times = found.setdefault(wheel_id, {}), _times(texts)
        for name in ((WHO, who), (WASH, gear_id or with_what)):
            if name[1]:
                own.setdefault(name, []).extend(times)
    for wheel_id, board_id, texts in db.execute(_boards(of_wheels)):
        found.setdefault(wheel_id, {}).setdefault((BOARD, board_id), []).extend(_times(texts))
    return {wheel_id: {name: sorted(times) for name, times in own.items()} for wheel_id, own in found.items()}
