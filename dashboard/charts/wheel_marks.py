"""What happened to the wheels of a place, as marks: care, rind notes, coverings, and who came and went.

What was done on one day is one mark: a whole shelf that was turned is one thing that happened.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from typing import NamedTuple

from sqlalchemy import BigInteger, String, and_, cast, or_, select, type_coerce

from collector.records.columns import from_ms, to_ms
from dashboard.charts.mark import MOST, NO_CODE, ChartMark, Search
from dashboard.charts.spans import DAY_MS
from dashboard.wheels import tables
from dashboard.wheels.book import own_words
from dashboard.wheels.entry_kinds import BODY
from dashboard.wheels.timeline import word_of

NAMED = 6  # so many wheels are named on one mark; the rest are counted
MOST_READ = 20 * MOST


class Happened(NamedTuple):
    """One entry about a wheel that stood in the place; a plain tuple, since a season has thousands."""

    at_ms: int
    word: str
    code: str
    wheel_id: str


def care_marks(search: Search) -> list[ChartMark]:
    """Care and looks, a day a mark: "9 turned, 2 washed"."""
    return _by_day(_entries(search, ("care", "looked")), _counted)


def rind_marks(search: Search) -> list[ChartMark]:
    """Rind notes, each by itself, since each is looked up."""
    found = _entries(search, ("rind_note",))
    return [ChartMark(one.at_ms, None, f"{one.code}: {one.word}", f"/wheels/{one.wheel_id}") for one in found[-MOST:]]


def covering_marks(search: Search) -> list[ChartMark]:
    """What was covered or laid bare, a day a mark."""
    return _by_day(_entries(search, ("covered",)), _named)


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
    return _by_day(sorted(found, key=lambda one: one.at_ms), _named)


def _places(search: Search, wheel_ids: Iterable[str]) -> dict[tuple[str, int], str | None]:
    """Where each wheel stood, by the number of its stay: a new covering begins a stay too, and is no move."""
    stay = tables.stay.c
    rows = search.db.execute(
        select(stay.wheel_id, stay.number, stay.place_id).where(stay.wheel_id.in_(sorted(set(wheel_ids))))
    )
    return {(row.wheel_id, row.number): row.place_id for row in rows}


def _entries(search: Search, kinds: tuple[str, ...]) -> list[Happened]:
    """Standing entries of some kinds about wheels that stood in the place just then, in order.

    The stays are read first and held against the entries here: in one question the database looks through every stay
    of the place for each entry.
    """
    entry = tables.entry.c
    undone = select(entry.replaces).where(entry.replaces.is_not(None))
    ever_here = select(tables.stay.c.wheel_id).where(tables.stay.c.place_id == search.place_id)
    at_ms, body = type_coerce(entry.happened_at, BigInteger), cast(entry.body, String)
    rows = search.db.execute(
        select(at_ms, body, entry.wheel_id)
        .where(entry.kind.in_(kinds), entry.id.not_in(undone), entry.wheel_id.in_(ever_here))
        .where(at_ms >= search.from_ms, at_ms < search.to_ms)
        .order_by(at_ms.desc())
        .limit(MOST_READ)
    ).all()
    if not rows:
        return []
    words = _Words(own_words(search.db))
    return [
        Happened(at, words[told], stood.code, wheel_id)
        for at, told, wheel_id in reversed(rows)
        if (stood := search.stood.get(wheel_id)) and any(first <= at < last for first, last in stood.spans)
    ]


class _Words(dict[str, str]):
    """The words for an entry by its body as it is stored; most care says the same, and is read once."""

    def __init__(self, own: Mapping[tuple[str, str], str]) -> None:
        super().__init__()
        self._own = own

    def __missing__(self, body: str) -> str:
        self[body] = word_of(BODY.validate_json(body), self._own).removesuffix(", nothing new")
        return self[body]


def _by_day(found: Iterable[Happened], tell: Callable[[list[Happened]], str]) -> list[ChartMark]:
    days: dict[int, list[Happened]] = {}
    for one in found:
        days.setdefault(one.at_ms // DAY_MS, []).append(one)
    return [ChartMark(own[0].at_ms, None, tell(own)) for own in list(days.values())[-MOST:]]


def _counted(own: list[Happened]) -> str:
    """How many of each; a single wheel is named."""
    words = Counter(one.word for one in own)
    if len({one.wheel_id for one in own}) == 1:
        return f"{own[0].code}: {', '.join(words)}"
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
