"""The lists of wheels: the living ones by place in the person's order, the finished ones by when they ended."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, func, select

from collector.records.places import places
from dashboard import words
from dashboard.household import Household
from dashboard.places.adding import open_places
from dashboard.rounds.row_words import age_words, style_word
from dashboard.rounds.shelves import Looked, around, rows
from dashboard.wheels import tables
from dashboard.wheels.book import Make, Wheel, living, makes, wheels
from dashboard.wheels.counts import ALIVE, CUT_UP
from dashboard.wheels.kinds.endings import ENDINGS
from dashboard.wheels.losses import START_WORDS
from dashboard.wheels_shown.finding import Wanted, matches

NOWHERE = ""


@dataclass(frozen=True, slots=True)
class Line:
    """One wheel of a list.

    Args:
        about: style, age, covering and weight; how it ended, for a finished one. loss: with what it counts from.
        due, overdue: how many cares. notes: words of open rind notes.
    """

    id: str
    code: str
    about: str
    loss: str = ""
    due: int = 0
    overdue: int = 0
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Shelf:
    """The living wheels of one place; `inside`: the places around it, in words."""

    place_id: str
    name: str
    inside: str
    lines: tuple[Line, ...]

    @property
    def due(self) -> int:
        return sum(bool(line.due) for line in self.lines)


def shelves(db: Connection, looked: Looked, asked: Wanted) -> list[Shelf]:
    """The living wheels that are looked for, by place; a place without any is left out."""
    found: dict[str | None, list[Wheel]] = {}
    for wheel in _those(db, living(db), looked, asked):
        found.setdefault(wheel.place_id, []).append(wheel)
    known = {place.id: place for place in places(db)}
    in_order = [place.id for place, _depth in open_places(db)]
    shown = [
        Shelf(id_, known[id_].name, around(known[id_], known), _lines(found.pop(id_), looked))
        for id_ in in_order
        if id_ in found
    ]
    for place_id, lost in found.items():
        place = known.get(place_id or "")
        inside = "this place is closed" if place else ""
        shown.append(Shelf(place_id or NOWHERE, place.name if place else "Nobody said where", inside,
                           _lines(lost, looked)))  # fmt: skip
    return shown


def _lines(found: Sequence[Wheel], looked: Looked) -> tuple[Line, ...]:
    return tuple(
        Line(
            row.wheel.id,
            row.wheel.code or "no code",
            row.about,
            loss_words(row.wheel, looked.household),
            len(row.due),
            sum(mark.overdue for mark in row.due),
            row.notes,
        )
        for row in rows(found, looked)
    )


def loss_words(wheel: Wheel, household: Household) -> str:
    """What a wheel has lost and since when: "lost 7.4 % since into the cave"; "" where it was weighed once or never."""
    if wheel.loss_pct is None or wheel.start is None or wheel.start_g is None or wheel.net_g == wheel.start_g:
        return ""
    since = START_WORDS.get(wheel.start, wheel.start)
    lost = f"lost {wheel.loss_pct:.1f} %" if wheel.loss_pct >= 0 else f"gained {-wheel.loss_pct:.1f} %"
    return f"{lost} since: {since}, {words.weight(wheel.start_g, household)}"


def finished(db: Connection, looked: Looked, asked: Wanted, most: int) -> tuple[list[Line], int]:
    """The wheels that are no longer there, the latest first and no more than so many; and how many more there are."""
    c = tables.wheel.c
    if asked.anything:
        found = _those(db, wheels(db, c.state != ALIVE), looked, asked)
        gone, total = sorted(found, key=lambda wheel: _end(wheel, looked), reverse=True)[:most], len(found)
    else:
        # A household of ten years has a thousand of them: only those are read that are shown.
        total = int(db.execute(select(func.count()).where(c.state != ALIVE)).scalar_one())
        latest = db.execute(
            select(c.id).where(c.state != ALIVE).order_by(c.state_at.is_not(None), c.state_at.desc(), c.id).limit(most)
        ).scalars()
        gone = sorted(wheels(db, c.id.in_(list(latest))), key=lambda wheel: _end(wheel, looked), reverse=True)
    lines = [Line(wheel.id, wheel.code or "no code", _ended(wheel, looked), loss_words(wheel, looked.household))
             for wheel in gone]  # fmt: skip
    return lines, total - len(lines)


def _end(wheel: Wheel, looked: Looked) -> datetime:
    return wheel.state_at or looked.now_at


def _ended(wheel: Wheel, looked: Looked) -> str:
    on = words.long_date(wheel.state_at, looked.household)
    age = ""
    if wheel.state_at is not None:
        aged = age_words(wheel.age_d(words.local(wheel.state_at, looked.household).date()))
        age = f" at {aged}" if aged else ""
    style = style_word(looked.styles.get(wheel.style_id or ""))
    return ", ".join(part for part in (style, f"{state_word(wheel.state)} {on}{age}") if part)


def state_word(state: str) -> str:
    """What a wheel that is no longer there came to, in words."""
    if state == CUT_UP:
        return "cut"
    return ENDINGS[state].word if state in ENDINGS else state


def _those(db: Connection, some: Sequence[Wheel], looked: Looked, asked: Wanted) -> list[Wheel]:
    if not asked.anything:
        return list(some)
    by_id: Mapping[str, Make] = {make.id: make for make in makes(db)}
    label = tables.label.c
    labels = {row.subject_id: row.code for row in db.execute(select(label.subject_id, label.code))}
    return [
        wheel
        for wheel in some
        if matches(wheel, by_id.get(wheel.make_id or ""), labels.get(wheel.id), asked, looked.today)
    ]
