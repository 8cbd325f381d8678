"""Side by side: air, weight loss and everything that happened, on one time axis; of one cave or of one wheel."""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, ClassVar
from urllib.parse import urlencode

from fastapi import APIRouter, HTTPException, Query
from starlette.responses import Response

from collector.records.columns import from_ms, to_ms
from dashboard import links_to, words
from dashboard.cave_air import Asked, time_text
from dashboard.charts.air_figure import gaps_as_none
from dashboard.charts.air_table import air_rows, columns
from dashboard.charts.panels import in_unit
from dashboard.charts.spans import SPANS, Window, earlier, later
from dashboard.csv_rows import Cell, csv_lines
from dashboard.household import Household
from dashboard.packed_answer import packed
from dashboard.pages.cave import Choice, Stretch
from dashboard.side_by_side import Beside, beside_cave, beside_wheel
from dashboard.visit import Guest, Visit
from dashboard.wheels.book import wheel_book

router = APIRouter()
ROWS_SHOWN = 80
HEADS = ("When", "What", "Weight", "Lost %")
Wheels = Annotated[list[str] | None, Query(alias="wheel", max_length=40)]


@dataclass(frozen=True, slots=True)
class WheelChoice:
    """One wheel to be drawn or not."""

    id: str
    code: str
    drawn: bool


@dataclass(frozen=True, slots=True)
class SidePage:
    """The page.

    Args:
        back_path, back_word: the page that it belongs to. choices: spans. wheels: to choose from, "" on one wheel.
        rows: what happened and what was weighed, newest first; more_rows: how many further ones the CSV has.
    """

    template: ClassVar[str] = "side_by_side.html"
    title: str
    back_path: str
    back_word: str
    choices: tuple[Choice, ...]
    wheels: tuple[WheelChoice, ...]
    span: str
    earlier: str
    later: str
    from_at: datetime
    to_at: datetime
    figure_path: str
    csv_path: str
    picture_name: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    more_rows: int
    air_columns: tuple[str, ...]
    air_rows: tuple[tuple[str, ...], ...]


@router.get("/caves/{place_id}/side-by-side")
def cave(visit: Guest, place_id: str, asked: Stretch, wheel: Wheels = None) -> Response:
    """A cave beside some of its wheels."""
    with visit.looking() as db:
        found = beside_cave(visit, db, place_id, asked, wheel or [])
    base = links_to.cave(place_id)
    return visit.page(_page(visit, found, f"{base}/side-by-side", (base, found.title), asked))


@router.get("/caves/{place_id}/side-by-side/figure")
def cave_figure(visit: Guest, place_id: str, asked: Stretch, wheel: Wheels = None) -> Response:
    with visit.looking() as db:
        return _figure(visit, beside_cave(visit, db, place_id, asked, wheel or []))


@router.get("/caves/{place_id}/side-by-side.csv")
def cave_csv(visit: Guest, place_id: str, asked: Stretch, wheel: Wheels = None) -> Response:
    with visit.looking() as db:
        return _csv(visit, beside_cave(visit, db, place_id, asked, wheel or []))


@router.get("/wheels/{wheel_id}/side-by-side")
def wheel(visit: Guest, wheel_id: str, asked: Stretch) -> Response:
    """A wheel beside the air of where it was."""
    found = _of_wheel(visit, wheel_id, asked)
    base = f"/wheels/{wheel_id}"
    return visit.page(_page(visit, found, f"{base}/side-by-side", (base, found.title), asked))


@router.get("/wheels/{wheel_id}/side-by-side/figure")
def wheel_figure(visit: Guest, wheel_id: str, asked: Stretch) -> Response:
    return _figure(visit, _of_wheel(visit, wheel_id, asked))


@router.get("/wheels/{wheel_id}/side-by-side.csv")
def wheel_csv(visit: Guest, wheel_id: str, asked: Stretch) -> Response:
    return _csv(visit, _of_wheel(visit, wheel_id, asked))


def _of_wheel(visit: Visit, wheel_id: str, asked: Asked) -> Beside:
    with visit.looking() as db:
        book = wheel_book(db, wheel_id)
        if book is None:
            raise HTTPException(404)
        return beside_wheel(visit, db, book, asked)


def _page(visit: Visit, found: Beside, path: str, back: tuple[str, str], asked: Asked) -> SidePage:
    shown, household = found.shown, visit.household
    drawn = [book.wheel.id for book in found.books]
    chosen = [("wheel", wheel_id) for wheel_id in drawn] if found.choices else []
    rows = list(_told(found, household))
    before, after = earlier(shown), later(shown, _newest_ms(found, visit))
    same = urlencode([*_said(asked), *chosen])
    return SidePage(
        title=f"{found.title}: side by side",
        back_path=back[0],
        back_word=back[1],
        choices=tuple(
            Choice(s.word, f"{path}?{urlencode([('span', s.name), *chosen])}", s.name == shown.span)
            for s in SPANS.values()
            if s.name not in ("hour", "day")
        ),
        wheels=tuple(WheelChoice(id_, code or "without a code", id_ in drawn) for id_, code in found.choices),
        span=shown.span,
        earlier="" if before is None else _stepped(path, shown, before, chosen),
        later="" if after is None else _stepped(path, shown, after, chosen),
        from_at=from_ms(shown.from_ms),
        to_at=from_ms(shown.to_ms),
        figure_path=f"{path}/figure?{same}".rstrip("?"),
        csv_path=f"{path}.csv?{same}".rstrip("?"),
        picture_name=f"{found.title} side by side {time_text(shown.to_ms)[:10]}",
        columns=HEADS,
        rows=tuple(rows[:ROWS_SHOWN]),
        more_rows=max(len(rows) - ROWS_SHOWN, 0),
        air_columns=columns(household),
        air_rows=tuple(row.texts() for row in air_rows(found.course, shown, household)),
    )


def _newest_ms(found: Beside, visit: Visit) -> int:
    """Where the last window ends: now, or with a wheel that is gone."""
    ended = found.books[0].history.counted.ended_at if found.books and not found.choices else None
    return to_ms(ended or visit.now_at)


def _said(asked: Asked) -> list[tuple[str, str]]:
    said = (("span", asked.span), ("from", asked.from_at), ("to", asked.to_at))
    return [(name, text) for name, text in said if text]


def _stepped(path: str, shown: Window, to_ms_: int, chosen: list[tuple[str, str]]) -> str:
    if shown.span:
        ends = [("span", shown.span), ("to", time_text(to_ms_))]
    else:
        ends = [("from", time_text(to_ms_ - shown.length_ms)), ("to", time_text(to_ms_))]
    return f"{path}?{urlencode([*ends, *chosen])}"


@dataclass(frozen=True, slots=True)
class Event:
    """One line of the table: a mark, or a weighing of a chosen wheel."""

    at_ms: int
    code: str
    what: str
    weight_g: float | None = None
    loss_pct: float | None = None


def events(found: Beside) -> list[Event]:
    """What happened in the window, newest first; weighings are told with their numbers, not as marks."""
    own = found.books[0].wheel.code if found.books and not found.choices else ""
    lanes = [lane for lane in found.lanes if lane.kind.name != "weighing"]
    told = [Event(mark.at_ms, own, mark.words) for lane in lanes for mark in lane.marks]
    told += [
        Event(to_ms(mark.at), book.wheel.code, mark.word, mark.weight_g, mark.loss_pct)
        for book in found.books
        for mark in book.marks
        if mark.kind == "weighing" and found.shown.from_ms <= to_ms(mark.at) <= found.shown.to_ms
    ]
    return sorted(told, key=lambda one: one.at_ms, reverse=True)


def _told(found: Beside, household: Household) -> Iterator[tuple[str, ...]]:
    for one in events(found):
        at = from_ms(one.at_ms)
        when = f"{words.short_date(at, household)} {words.clock_time(at, household)}"
        weight = "" if one.weight_g is None else words.weight(one.weight_g, household)
        # Of a whole cave a weighing names its wheel; marks do so themselves.
        what = f"{one.code}: {one.what}" if found.choices and one.code else one.what
        yield when, what, weight, "" if one.loss_pct is None else f"{one.loss_pct:.1f}"


def _figure(visit: Visit, found: Beside) -> Response:
    body = json.dumps(found.figure(visit.household), allow_nan=False, separators=(",", ":")).encode()
    return packed(visit.request.headers, body, "application/json", {"Cache-Control": "private, no-store"})


def _csv(visit: Visit, found: Beside) -> Response:
    """Air and events in one table, in order of time; each line fills the columns that it knows."""
    unit = f"deg{visit.household.temperature_unit}"
    heads = ("time (UTC)", f"temperature ({unit})", "humidity (%)", f"dew point ({unit})", "wheel", "what")
    lines: list[tuple[int, list[Cell]]] = [*_air_cells(found, visit.household), *_event_cells(found)]
    lines.sort(key=lambda line: line[0])
    rows: list[list[Cell]] = [[*heads, "weight (g)", "lost (%)"], *([time_text(at), *cells] for at, cells in lines)]
    name = f"side-by-side-{time_text(found.shown.to_ms)[:10]}.csv"
    headers = {"Content-Disposition": f'attachment; filename="{name}"', "Cache-Control": "private, no-store"}
    return packed(visit.request.headers, csv_lines(rows).encode(), "text/csv; charset=utf-8", headers)


def _air_cells(found: Beside, household: Household) -> Iterator[tuple[int, list[Cell]]]:
    course = found.course
    temperature = gaps_as_none(in_unit(course.temperature.mean, "temperature", household), 2)
    humidity = gaps_as_none(course.humidity.mean, 1)
    dew = gaps_as_none(in_unit(course.dew_point.mean, "temperature", household), 2)
    for at, *air in zip(course.start_ms.tolist(), temperature, humidity, dew, strict=True):
        if any(value is not None for value in air):
            yield int(at), [*air, None, None, None, None]


def _event_cells(found: Beside) -> Iterator[tuple[int, list[Cell]]]:
    for one in events(found):
        loss = None if one.loss_pct is None else round(one.loss_pct, 2)
        yield one.at_ms, [None, None, None, one.code, one.what, one.weight_g, loss]
