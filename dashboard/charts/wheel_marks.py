"""What happened to the wheels of a place, as marks: care, rind notes, coverings, and who came and went.

What was done on one day is one mark: a whole shelf that was turned is one thing that happened.
"""

from collections import Counter
from collections.abc import Iterable, Mapping
from functools import cached_property
from typing import NamedTuple, TypeVar

from sqlalchemy import BigInteger, ColumnElement, String, and_, cast, func, or_, select, type_coerce

from collector.records.columns import from_ms, to_ms
from dashboard.charts.mark import MOST, NO_CODE, ChartMark, Search
from dashboard.charts.spans import DAY_MS
from dashboard.wheels import tables
from dashboard.wheels.book import codes_of, own_words
from dashboard.wheels.entry_kinds import BODY
from dashboard.wheels.timeline import word_of

NAMED = 6  # so many wheels are named on one mark; the rest are counted
MOST_READ = 20 * MOST
_happened_ms, _body_text = type_coerce(tables.entry.c.happened_at, BigInteger), cast(tables.entry.c.body, String)


Item = TypeVar("Item", "Happened", "Done")


class Happened(NamedTuple):
    """One entry about a wheel that stood in the place."""

    at_ms: int
    word: str
    code: str
    wheel_id: str


class Done(NamedTuple):
    """One kind of care in one day: when first, how often, and which wheel if it was one alone; a season has thousands,
    and they are counted by the database."""

    at_ms: int
    word: str
    times: int
    only_id: str | None


def care_marks(search: Search) -> list[ChartMark]:
    """Care and looks, a day a mark: "9 turned, 2 washed"; a single wheel is named."""
    days = _days(_done(search))
    single = {day[0].only_id for day in days if day[0].only_id and len({done.only_id for done in day}) == 1}
    codes = codes_of(search.db, single)
    return [ChartMark(day[0].at_ms, None, _counted(day, codes)) for day in days]


def rind_marks(search: Search) -> list[ChartMark]:
    """Rind notes, each by itself, since each is looked up."""
    found = _entries(search, "rind_note")
    return [ChartMark(one.at_ms, None, f"{one.code}: {one.word}", f"/wheels/{one.wheel_id}") for one in found[-MOST:]]


def covering_marks(search: Search) -> list[ChartMark]:
    """What was covered or laid bare, a day a mark."""
    return _by_day(_entries(search, "covered"))


def move_marks(search: Search) -> list[ChartMark]:
    """Who came and who left, a day a mark."""
    stay, wheel = tables.stay.c, tables.wheel.c
    inside = [and_(at >= from_ms(search.from_ms), at < from_ms(search.to_ms)) for at in (stay.from_at, stay.to_at)]
    rows = search.db.execute(
        select(stay.wheel_id, stay.number, stay.from_at, stay.to_at, wheel.code)
        .join(tables.wheel, wheel.id == stay.wheel_id)
        .where(stay.place_id == search.place_id, or_(*inside))
        .order_by(stay.from_at)
        .limit(MOST_READ)
    ).all()
    places = _places(search, [row.wheel_id for row in rows])
    found = []
    for row in rows:
        for at, word, step in ((row.from_at, "came", -1), (row.to_at, "left", 1)):
            stood_here = places.get((row.wheel_id, row.number + step)) == search.place_id
            if at is not None and search.from_ms <= to_ms(at) < search.to_ms and not stood_here:
                found.append(Happened(to_ms(at), word, row.code or NO_CODE, row.wheel_id))
    return _by_day(sorted(found, key=lambda one: one.at_ms))


def _places(search: Search, wheel_ids: Iterable[str]) -> dict[tuple[str, int], str | None]:
    """Where each wheel stood, by the number of its stay: a new covering begins a stay too, and is no move."""
    stay = tables.stay.c
    rows = search.db.execute(
        select(stay.wheel_id, stay.number, stay.place_id).where(stay.wheel_id.in_(sorted(set(wheel_ids))))
    )
    return {(row.wheel_id, row.number): row.place_id for row in rows}


def _entries(search: Search, kind: str) -> list[Happened]:
    """Standing entries of a kind about wheels that stood in the place just then, in order; found by their kind, since
    there are few."""
    c, wheel = tables.entry.c, tables.wheel.c
    stood = _stood_in(search, _no_index(tables.stay.c.place_id))
    rows = search.db.execute(
        select(_happened_ms, _body_text, c.wheel_id, wheel.code)
        .select_from(tables.entry.join(tables.wheel, wheel.id == c.wheel_id).join(tables.stay, stood))
        .where(c.kind == kind, *_counts(search))
        .order_by(_happened_ms.desc())
        .limit(MOST_READ)
    ).all()
    words = _Words(search)
    return [Happened(at, words[told], code or NO_CODE, wheel_id) for at, told, wheel_id, code in reversed(rows)]


def _done(search: Search) -> list[Done]:
    """Standing care and looks at wheels that stood in the place just then, by day and what was said, in order; found
    by the wheels' stays, since care is most of a book and other places have as much of it."""
    c, stay = tables.entry.c, tables.stay.c
    then = (stay.from_at < from_ms(search.to_ms)) & (stay.to_at.is_(None) | (stay.to_at > from_ms(search.from_ms)))
    first, one, other = func.min(_happened_ms), func.min(c.wheel_id), func.max(c.wheel_id)
    rows = search.db.execute(
        select(first, _body_text, func.count(), one, other)
        .select_from(tables.stay.join(tables.entry, _stood_in(search, stay.place_id)))
        .where(then, _no_index(c.kind).in_(("care", "looked")), *_counts(search))
        .group_by(_happened_ms // DAY_MS, _body_text)
        .order_by(first.desc())
        .limit(MOST_READ)
    ).all()
    words = _Words(search)
    return [
        Done(at, words[told], times, wheel_id if wheel_id == last_id else None)
        for at, told, times, wheel_id, last_id in reversed(rows)
    ]


def _no_index(column: ColumnElement[str]) -> ColumnElement[str]:
    """The same column, but SQLite does not try its index: it cannot know how few or many rows that is."""
    return func.coalesce(column, "")


def _stood_in(search: Search, place: ColumnElement[str]) -> ColumnElement[bool]:
    """The stay of an entry's wheel at the time of the entry was in the place."""
    stay, at = tables.stay.c, tables.entry.c.happened_at
    lasted = (stay.from_at <= at) & (stay.to_at.is_(None) | (stay.to_at > at))
    return and_(stay.wheel_id == tables.entry.c.wheel_id, place == search.place_id, lasted)


def _counts(search: Search) -> list[ColumnElement[bool]]:
    """Within the chart's time, and no later entry corrects or takes it back."""
    undone = select(tables.entry.c.replaces).where(tables.entry.c.replaces.is_not(None))
    inside = (_happened_ms >= search.from_ms, _happened_ms < search.to_ms)
    return [tables.entry.c.id.not_in(undone), *inside]


class _Words(dict[str, str]):
    """The words for an entry by its body as it is stored; most care says the same, and is read once."""

    def __init__(self, search: Search) -> None:
        super().__init__()
        self._db = search.db

    @cached_property
    def _own(self) -> Mapping[tuple[str, str], str]:
        return own_words(self._db)

    def __missing__(self, body: str) -> str:
        self[body] = word_of(BODY.validate_json(body), self._own).removesuffix(", nothing new")
        return self[body]


def _by_day(found: Iterable[Happened]) -> list[ChartMark]:
    return [ChartMark(own[0].at_ms, None, _named(own)) for own in _days(found)]


def _days(found: Iterable[Item]) -> list[list[Item]]:
    """What happened, in order, day by day; the newest days if there are very many."""
    days: dict[int, list[Item]] = {}
    for one in found:
        days.setdefault(one.at_ms // DAY_MS, []).append(one)
    return list(days.values())[-MOST:]


def _counted(day: list[Done], codes: Mapping[str, str]) -> str:
    """How many of each; a single wheel is named."""
    words: Counter[str] = Counter()
    for done in day:
        words[done.word] += done.times
    only = {done.only_id for done in day}
    if len(only) == 1 and (wheel_id := only.pop()):
        return f"{codes.get(wheel_id) or NO_CODE}: {', '.join(words)}"
    return ", ".join(f"{count} {word}" for word, count in words.most_common())


def _named(own: list[Happened]) -> str:
    """Which wheels, word by word."""
    by_word: dict[str, list[str]] = {}
    for one in own:
        by_word.setdefault(one.word, []).append(one.code)
    return "; ".join(f"{word}: {_codes(codes)}" for word, codes in by_word.items())


def _codes(codes: list[str]) -> str:
    more = len(codes) - NAMED
    return ", ".join(codes[:NAMED]) + (f" and {more} more" if more > 0 else "")
