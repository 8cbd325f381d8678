"""Air and wheels on one time axis: what the pages of a cave and of a wheel show beside each other."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy import Connection

from collector.errors import SchemaMissing
from collector.notify.known import load_known
from collector.records.columns import from_ms, to_ms
from collector.records.places import load_facts
from collector.watch import doubtful_spans
from dashboard.cave_air import Asked, CaveAir, cave_air, window_of
from dashboard.charts.air_course import AirCourse, air_course
from dashboard.charts.air_figure import air_figure
from dashboard.charts.drawing import Drawing, from_course
from dashboard.charts.loss_panel import MOST_WHEELS, LossLine, with_losses
from dashboard.charts.mark import ChartMark, Search
from dashboard.charts.marks import MARK_KINDS, Lane, MarkKind, air_warnings
from dashboard.charts.spans import Window
from dashboard.household import Household
from dashboard.visit import Visit
from dashboard.wheel_air import PlaceSpan, WheelAirReader, bands_around, place_spans
from dashboard.wheels.book import WheelBook, codes_of, stays_in, weight_books
from dashboard.wheels.timeline import Mark

CHOSEN_FIRST = 3  # wheels that are drawn before anybody chooses


def _nowhere(search: Search) -> list[ChartMark]:  # noqa: ARG001
    return []


# Of one wheel there is more to show than of a whole place.
WHEEL_LANES: dict[str, MarkKind] = {
    "weighing": MarkKind("weighing", "weighed", "line-ns-open", "--ink", _nowhere),
    "care": MARK_KINDS["care"],
    "rind": MARK_KINDS["rind"],
    "tasting": MarkKind("tasting", "tasted", "star", "--accent", _nowhere),
    "covering": MARK_KINDS["coverings"],
    "place": MARK_KINDS["moves"],
}


@dataclass(frozen=True, slots=True)
class Beside:
    """All that is shown beside each other.

    Args:
        course: the air by points, for the table. lanes: marks by kind.
        books: the chosen wheels with all that the book holds of them.
        choices: wheels to choose from, id and code; empty on one wheel's own page.
    """

    title: str
    shown: Window
    drawn: Drawing
    course: AirCourse
    lanes: tuple[Lane, ...]
    books: tuple[WheelBook, ...]
    choices: tuple[tuple[str, str], ...] = ()

    def figure(self, household: Household) -> dict[str, Any]:
        lines = [loss_line(book) for book in self.books]
        return with_losses(air_figure(self.drawn, household), lines, self.shown, household)


def loss_line(book: WheelBook) -> LossLine:
    """A wheel's losses as a line."""
    points = book.history.losses
    return LossLine(book.wheel.code or "wheel", tuple(to_ms(p.at) for p in points), tuple(p.loss_pct for p in points))


def beside_cave(visit: Visit, db: Connection, place_id: str, asked: Asked, chosen: Sequence[str]) -> Beside:
    """A cave's air beside what happened in it and the losses of some of its wheels.

    Raises:
        HTTPException: no such place, or times that cannot be read.
    """
    found = cave_air(visit, db, place_id, replace(asked, span=asked.span or ("" if asked.from_at else "season")))
    candidates = _stood_here(db, found)
    wanted = [wheel_id for wheel_id in chosen if wheel_id in candidates] or list(candidates)[:CHOSEN_FIRST]
    books = weight_books(db, wanted[:MOST_WHEELS])
    course = air_course(found.reader, place_id, found.shown)
    choices = tuple(candidates.items())
    return Beside(found.place.name, found.shown, found.drawing(course), course, found.lanes, tuple(books), choices)


def _stood_here(db: Connection, found: CaveAir) -> dict[str, str]:
    """Wheels that stood in the place within the window, id and code: those that are still there first."""
    shown = found.shown
    rows = stays_in(db, [found.place.id], from_ms(shown.from_ms), from_ms(shown.to_ms))
    here = dict.fromkeys(row["wheel_id"] for row in sorted(rows, key=lambda row: row["to_at"] is not None))
    return codes_of(db, here)


def beside_wheel(visit: Visit, db: Connection, book: WheelBook, asked: Asked) -> Beside:
    """The air of where a wheel was beside its loss and what happened to it; all its life by default.

    Raises:
        HTTPException: times that cannot be read.
        SchemaMissing: nothing was prepared here yet.
    """
    facts = load_facts(db)
    first_ms, end_ms = _life(book, to_ms(visit.now_at))
    shown = window_of(replace(asked, span=asked.span or ("" if asked.from_at else "all")), end_ms, first_ms)
    if visit.readings is None:
        raise SchemaMissing(visit.house.settings.readings_path)
    channels = visit.readings.channels()
    doubts = doubtful_spans(db, channels, shown.start_ms, shown.to_ms)
    spans = place_spans(book.history.stays, shown.from_ms, shown.to_ms, facts)
    lanes = tuple(_wheel_lanes(visit, db, book, shown, spans))
    reader = WheelAirReader(visit.readings.db, facts, doubts, channels, book.history.stays)
    course = air_course(reader, "", shown)
    drawn = Drawing(shown, tuple(from_course(course, shown)), *bands_around(spans, facts), lanes)
    return Beside(book.wheel.code or "A wheel", shown, drawn, course, lanes, (book,))


def _life(book: WheelBook, now_ms: int) -> tuple[int, int]:
    """From the first thing that is known of a wheel to its end, or to now."""
    times = [to_ms(entry.happened_at) for entry in book.entries] or [now_ms]
    ended = book.history.counted.ended_at
    return min(times), now_ms if ended is None else to_ms(ended)


def _wheel_lanes(
    visit: Visit, db: Connection, book: WheelBook, shown: Window, spans: Sequence[PlaceSpan]
) -> Iterable[Lane]:
    known = load_known(db, visit.now_at)
    warned = [m for s in spans for m in air_warnings(Search(db, known, s.place_id, s.from_ms, s.to_ms))]
    if warned:
        yield Lane(MARK_KINDS["warnings"], tuple(warned))
    for name, kind in WHEEL_LANES.items():
        own = [_chart_mark(m, known.place_names) for m in book.marks if m.lane == name and _within(m, shown)]
        if own:
            yield Lane(kind, tuple(own))


def _within(mark: Mark, shown: Window) -> bool:
    return shown.from_ms <= to_ms(mark.at) <= shown.to_ms


def _chart_mark(mark: Mark, place_names: Any) -> ChartMark:
    where = f" to {place_names[mark.place_id]}" if mark.lane == "place" and mark.place_id in place_names else ""
    said = f": {mark.text}" if mark.text else ""
    return ChartMark(to_ms(mark.at), None, f"{mark.word}{where}{said}")
