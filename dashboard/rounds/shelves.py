"""Gathers the round: every shelf in the person's own order, its wheels and what is due. Overdue never reorders."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

from sqlalchemy import Connection

from collector.records.facts import Facts, Place
from collector.records.places import places
from dashboard import words
from dashboard.household import Household
from dashboard.places_now import ordered
from dashboard.rounds.chores import chores_of, recent_chores
from dashboard.rounds.gear_lines import gear_lines
from dashboard.rounds.model import Round, Row, Shelf
from dashboard.rounds.row_words import OwnWords, about, done_today, due_marks, rind_word
from dashboard.weights.pace_words import pace_words
from dashboard.wheels.book import Style, Wheel, due_of, living, own_words, styles
from dashboard.wheels.kept_by_facts import KeptByFacts

NOWHERE = "nowhere"
NOWHERE_WORDS = "Nobody said where"
WITH_CHORES = frozenset({"cave", "box"})


@dataclass(frozen=True, slots=True)
class Looked:
    """What was read once for all rows; `paces`: by wheel, that it loses faster or slower than its kind."""

    now_at: datetime
    household: Household
    styles: Mapping[str, Style]
    own: OwnWords
    paces: Mapping[str, str] = field(default_factory=dict)

    @property
    def today(self) -> date:
        return words.local(self.now_at, self.household).date()


_styles, _own, _rows = KeptByFacts[Style](), KeptByFacts[OwnWords](), KeptByFacts[Row]()


def look(db: Connection, now_at: datetime, household: Household) -> Looked:
    # The same values as last time where they are equal: told apart by identity, 300 rows cost next to nothing.
    known = {style.id: _same_style(style) for style in styles(db)}
    words_now = own_words(db)
    own = _own.get("", (words_now,), lambda: words_now)
    return Looked(now_at, household, known, own, pace_words(db, now_at))


def _same_style(style: Style) -> Style:
    return _styles.get(style.id, (style,), lambda: style)


def round_of(db: Connection, now_at: datetime, household: Household) -> Round:
    """The whole round as it stands now."""
    looked = look(db, now_at, household)
    by_place: dict[str | None, list[Wheel]] = {}
    for wheel in living(db):
        by_place.setdefault(wheel.place_id, []).append(wheel)
    known = {place.id: place for place in places(db)}
    chores = recent_chores(db, now_at)
    found = []
    for place, _depth in ordered(Facts(places=known)):
        lines = chores_of(place.id, chores, looked.own, looked.today, household) if place.kind in WITH_CHORES else ()
        here = by_place.pop(place.id, [])
        if here or lines:
            found.append(Shelf(place.id, place.name, around(place, known), rows(here, looked), lines))
    for place_id, lost in by_place.items():
        found.append(_left_over(place_id, known, rows(lost, looked)))
    return Round(now_at, found, gear_lines(db, now_at, household))


def _left_over(place_id: str | None, known: Mapping[str, Place], lost: tuple[Row, ...]) -> Shelf:
    """Wheels that stand nowhere, or in a place that was closed: they must not vanish from the round."""
    place = known.get(place_id or "")
    if place is None:
        return Shelf(place_id or NOWHERE, NOWHERE_WORDS, "", lost)
    return Shelf(place.id, place.name, "this place is closed", lost)


def around(place: Place, known: Mapping[str, Place]) -> str:
    """The places around a place, the outermost first."""
    names: list[str] = []
    step = place.parent_id or ""
    while step in known and len(names) < len(known):
        names.insert(0, known[step].name)
        step = known[step].parent_id or ""
    return ", ".join(names)


def rows(wheels: Sequence[Wheel], looked: Looked) -> tuple[Row, ...]:
    """Lines of a shelf's wheels, in the order in which they stand there: by position, then by code."""
    in_order = sorted(wheels, key=lambda w: (w.position is None, w.position or 0, w.code, w.id))
    return tuple(row(wheel, looked) for wheel in in_order)


def row(wheel: Wheel, looked: Looked) -> Row:
    """One wheel's line, the same until something that it says is another."""
    style = looked.styles.get(wheel.style_id or "")
    pace = looked.paces.get(wheel.id, "") if wheel.alive else ""
    facts = (wheel, style, pace, looked.today, looked.own, looked.household)
    return _rows.get(wheel.id, facts, lambda: _row(wheel, style, pace, looked))


def _row(wheel: Wheel, style: Style | None, pace: str, looked: Looked) -> Row:
    household, today = looked.household, looked.today
    due = due_of(wheel, style, today, household.zone)
    return Row(
        wheel,
        about(wheel, style, today, household),
        due_marks(due, today, looked.own),
        tuple(rind_word(name, looked.own) for name in wheel.notes_at),
        tuple(done_today(wheel.last_at, looked.now_at, household, looked.own)),
        pace,
    )
