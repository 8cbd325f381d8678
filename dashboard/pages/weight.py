"""Weight foretold: of one wheel, with when to cover it and where to move it; of a cave, which humidity suits."""

import logging
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Any, ClassVar

from fastapi import APIRouter, HTTPException, Query
from markupsafe import Markup
from sqlalchemy import Connection
from sqlalchemy.exc import OperationalError
from starlette.responses import Response

from collector.database_code import database_code
from collector.errors import SchemaMissing
from dashboard import links_to, words
from dashboard.charts.figure_text import figure_json
from dashboard.errors_shown import Trouble
from dashboard.forms import Form
from dashboard.visit import Guest, Helper, Visit
from dashboard.weights.answer import OFFERED
from dashboard.weights.around import look_around
from dashboard.weights.asking import ask, remembered, tag
from dashboard.weights.cave_setting import CaveTold, cave_told
from dashboard.weights.keeping import work_out
from dashboard.weights.kept import SHOWN, TRIED, Forecast, Past, compare, is_due, keep, past, score_of
from dashboard.weights.told import Told, Wish
from dashboard.wheels.book import wheel_book
from dashboard.wheels.kinds.coverings import COVERINGS

router = APIRouter()
log = logging.getLogger(__name__)
NO_WHEEL = Trouble(404, "There is no such wheel.", "Look on its label, or find it on the list of wheels.")
CHOICES = {name: COVERINGS[name].word for name in OFFERED}
HEADS = ("Day", "Lost", "90 % of cases", "Weight")
CHOICE_HEADS = ("", "Lost", "90 % of cases")
PAST_HEADS = ("Due", "Foretold", "Came", "")
LEAST_AIM_PCT, MOST_AIM_PCT = 0.0, 45.0
CHILD_WAIT_S = 60.0
Text = Annotated[str, Query(max_length=40)]


@dataclass(frozen=True, slots=True)
class WeightPage:
    """The page of one wheel.

    Args:
        form: covering, aim and ready day as they are looked at. figure: None without weighings. past: forecasts of this
            wheel that came due: day, foretold, what came, inside or not. score: of all wheels. tried: the same of past
            days, "" for none.
    """

    template: ClassVar[str] = "weight.html"
    title: str
    wheel_id: str
    code: str
    told: Told
    form: Form
    choices: dict[str, str]
    figure: Markup | None
    columns: tuple[str, ...]
    choice_columns: tuple[str, ...]
    past_columns: tuple[str, ...]
    past: tuple[tuple[str, str, str, str], ...]
    score: str
    own_score: str
    tried: str
    own_tried: str
    cave_path: str


@dataclass(frozen=True, slots=True)
class CaveWeightPage:
    """The page of a cave. `waits`: some wheels here were not worked out this week."""

    template: ClassVar[str] = "weight_cave.html"
    title: str
    cave_name: str
    cave_path: str
    own_path: str
    told: CaveTold
    may_change: bool


@router.get("/wheels/{wheel_id}/weight")
def wheel(visit: Guest, wheel_id: str, under: Text = "", aim: Text = "", on: Text = "") -> Response:
    """One wheel; what it says is kept once a week, so that it can be compared with what comes."""
    wish, form = _wish(under, aim, on)
    with visit.looking() as db:
        book = wheel_book(db, wheel_id)
        key = tag(db, wheel_id, wish, visit.now_at)
    if book is None:
        raise HTTPException(404, NO_WHEEL)
    house = visit.house
    told = remembered(house.engine, key, lambda: ask(house.settings, wheel_id, wish, visit.now_at))
    if told is None:
        raise HTTPException(404, NO_WHEEL)
    if wish == Wish():
        _keep(visit, wheel_id, told)
    with visit.looking() as db:
        every, tried = past(db, visit.now_at), past(db, visit.now_at, kind=TRIED)
    own_tried = [one for one in tried if one.wheel_id == wheel_id]
    own = [one for one in every if one.wheel_id == wheel_id]
    shown = form if form.errors else Form(_texts(told, form))
    code = book.wheel.code or "A wheel without a code"
    return visit.page(
        WeightPage(
            title=f"Weight of {code}",
            wheel_id=wheel_id,
            code=code,
            told=told,
            form=shown,
            choices=CHOICES,
            figure=figure_json(told.figure) if told.figure else None,
            columns=HEADS,
            choice_columns=CHOICE_HEADS,
            past_columns=PAST_HEADS,
            past=tuple(_past_rows(own[:SHOWN], visit)),
            score=score_of(every).words,
            own_score=score_of(own).words,
            tried=score_of(tried).words if tried else "",
            own_tried=score_of(own_tried).words if own_tried else "",
            cave_path=f"{links_to.cave(book.wheel.place_id)}/weight" if book.wheel.place_id else "",
        ),
        422 if form.errors else 200,
    )


def _wish(under: str, aim: str, on: str) -> tuple[Wish, Form]:
    """What was asked for, and the form with what was not understood of it."""
    form = Form({"under": under, "aim": aim, "on": on})
    aim_pct: float | None = None
    if aim:
        try:
            aim_pct = float(aim.replace(",", ".").removesuffix("%"))
        except ValueError:
            aim_pct = -1.0
        if not LEAST_AIM_PCT < aim_pct <= MOST_AIM_PCT:
            form = form.wrong("aim", f"A loss is a number above 0 and at most {MOST_AIM_PCT:g} %, got {aim}.")
            aim_pct = None
    day: date | None = None
    if on:
        try:
            day = date.fromisoformat(on)
        except ValueError:
            form = form.wrong("on", f"A day looks like 2026-03-12, got {on}.")
    if under and under not in CHOICES:
        form = form.wrong("under", "Take a covering from the list.")
        under = ""
    return Wish(under, aim_pct, day), form


def _texts(told: Told, form: Form) -> dict[str, str]:
    """What the page looked at, so that the form shows it."""
    aim = f"{told.aim_pct:g}" if told.aim_pct is not None else ""
    return {"under": told.cover_with or form.text("under"), "aim": aim, "on": told.ready_on}


def _keep(visit: Visit, wheel_id: str, told: Told) -> None:
    """Keep this week's forecast and compare what came due; records that are busy lose nothing but a week's row."""
    with visit.looking() as db:
        waits = told.forecast is not None and is_due(db, wheel_id, visit.now_at)
        open_ = any(one.came_g is None for one in past(db, visit.now_at, [wheel_id]))
    if not (waits or open_):
        return
    try:
        with visit.changing() as db:
            _write(db, visit, wheel_id, told.forecast if waits else None)
    except OperationalError as error:
        log.warning("forecast_not_kept wheel=%s code=%s", wheel_id, database_code(error))


def _write(db: Connection, visit: Visit, wheel_id: str, found: dict[str, Any] | None) -> None:
    if found is not None:
        keep(db, Forecast(**found), visit.now_at)
    book = wheel_book(db, wheel_id)
    if book is not None:
        compare(db, book, visit.now_at)


def _past_rows(found: Sequence[Past], visit: Visit) -> list[tuple[str, str, str, str]]:
    household = visit.household
    rows = []
    for one in found:
        foretold = f"{words.weight(one.low_g, household)} to {words.weight(one.high_g, household)}"
        came = "not weighed then" if one.came_g is None else words.weight(one.came_g, household)
        inside = "" if one.came_g is None else "inside" if one.low_g <= one.came_g <= one.high_g else "outside"
        rows.append((words.long_date(one.due_at, household), foretold, came, inside))
    return rows


@router.get("/caves/{place_id}/weight")
def cave(visit: Guest, place_id: str) -> Response:
    """Which humidity suits the wheels of a cave."""
    if visit.readings is None:
        raise SchemaMissing(visit.house.settings.readings_path)
    with visit.looking() as db:
        around = look_around(db, visit.readings.db, visit.readings.channels(), visit.now_at)
        place = around.place(place_id)
        if place is None:
            raise HTTPException(404)
        told = cave_told(db, around, place_id, visit.household)
    base = links_to.cave(place_id)
    title, may_change = f"Humidity for the wheels: {place.name}", visit.person.may("helper")
    return visit.page(CaveWeightPage(title, place.name, base, f"{base}/weight", told, may_change))


@router.post("/caves/{place_id}/weight")
def work_out_now(visit: Helper, place_id: str) -> Response:
    """Foretell the wheels that were not foretold this week, in a child process."""
    done = work_out(visit.house.settings, CHILD_WAIT_S, past_too=False)
    note = "Worked out." if done else "It takes longer than expected; look again in some minutes."
    return visit.go(f"{links_to.cave(place_id)}/weight", note)
