"""The line of each evening to who is away: what was done that day, and what was not."""

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import Connection, Engine

from collector.clock import Clock
from collector.notify.evening import due_evening, tell_evening
from collector.notify.words import Words
from collector.records.engine import reading
from collector.records.places import places
from dashboard.away.days import to_do_word
from dashboard.household_kept import load
from dashboard.rounds.row_words import OwnWords, care_word, rind_word
from dashboard.rounds.shelves import Looked, look
from dashboard.wheels.book import Wheel, due_of, living

MOST_CODES = 6  # in one message on a phone


@dataclass(frozen=True, slots=True)
class DayDone:
    """One day in the book: how many wheels had each care, the codes of those who still wait for it, new rind notes."""

    done: dict[str, int]
    not_done: dict[str, list[str]]
    notes: list[str]


class EveningLine:
    """Writes the line into the outbox when its hour has come; once a day, also across restarts."""

    def __init__(self, engine: Engine, clock: Clock) -> None:
        self._engine, self._clock = engine, clock

    def step(self) -> bool:
        """Look once; True when a line was written."""
        now_at = self._clock.now()
        with reading(self._engine) as db:
            if due_evening(db, now_at) is None:
                return False
        with self._engine.begin() as db:
            due = due_evening(db, now_at)
            if due is None:
                return False
            away, day = due
            tell_evening(db, away, day, day_words(db, day, now_at), now_at)
        return True


def day_words(db: Connection, day: date, now_at: datetime) -> Words:
    """The line of a day, from the book as it stands."""
    household = load(db)
    looked = look(db, now_at, household)
    found = day_done(living(db), looked, day, {place.id: place.name for place in places(db)})
    done, left = sum(found.done.values()), sum(len(codes) for codes in found.not_done.values())
    if not done and not left:
        return Words(
            "This evening: nothing was due", _sentences(["Nothing was due today and nothing was entered", *_new(found)])
        )
    title = f"This evening: {done} done, {left} not done" if left else f"This evening: all {done} done"
    return Words(title, _sentences([*_done(found, looked.own), *_not_done(found, looked.own), *_new(found)]))


def day_done(wheels: Iterable[Wheel], looked: Looked, day: date, place_names: dict[str, str]) -> DayDone:
    """What the book says of a day: by care, done that day, and asked for until then and not done."""
    done: Counter[str] = Counter()
    not_done: dict[str, list[str]] = defaultdict(list)
    notes: list[str] = []
    for wheel in wheels:
        style, zone = looked.styles.get(wheel.style_id or ""), looked.household.zone
        last_on, named = wheel.last_on(zone), _named(wheel, place_names)
        asked = {line.care for line in style.sheet.plan} if style else set()
        done.update(care for care in asked if last_on.get(care) == day)
        for one in due_of(wheel, style, day, zone):
            if one.on <= day:
                not_done[one.care].append(named)
        new = [name for name, at in wheel.notes_at.items() if at.astimezone(zone).date() == day]
        notes += [f"{rind_word(name, looked.own)} on {named}" for name in new]
    return DayDone(dict(done), dict(not_done), notes)


def _named(wheel: Wheel, place_names: dict[str, str]) -> str:
    return wheel.code or f"one without a code in {place_names.get(wheel.place_id or '', 'no place')}"


def _done(found: DayDone, own: OwnWords) -> list[str]:
    if not found.done:
        return ["Nothing was entered as done"]
    return ["Done: " + ", ".join(f"{care_word(care, own)} {count}" for care, count in sorted(found.done.items()))]


def _not_done(found: DayDone, own: OwnWords) -> list[str]:
    if not found.not_done:
        return ["Everything that was due is done"]
    parts = [f"{to_do_word(care, own)} {_some(codes)}" for care, codes in sorted(found.not_done.items())]
    return ["Not done: " + "; ".join(parts)]


def _some(codes: list[str]) -> str:
    if len(codes) <= MOST_CODES:
        return ", ".join(codes)
    return f"{', '.join(codes[:MOST_CODES])} and {len(codes) - MOST_CODES} more"


def _new(found: DayDone) -> list[str]:
    return ["New: " + ", ".join(found.notes[:MOST_CODES])] if found.notes else []


def _sentences(said: list[str]) -> str:
    return "\n".join(f"{line}." for line in said)
