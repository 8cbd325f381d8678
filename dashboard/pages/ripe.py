"""Ripe when: the year's strip of ripening windows, and by when to make something for a day."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Annotated, ClassVar

from fastapi import APIRouter, Query
from starlette.responses import Response

from collector.errors import EntryRefused
from dashboard import words
from dashboard.forms import Form, of_field
from dashboard.household import Household
from dashboard.moments_typed import habits
from dashboard.visit import Guest
from dashboard.wheels.book import Style, Wheel, living, styles
from dashboard.wheels.days_typed import parse_day
from dashboard.wheels.ripening import Window, make_between, on_strip, window

router = APIRouter()
PATH = "/wheels/ripe"
YEAR_D = 365
WIDTH = 320.0  # units of the drawing; the template draws it


@dataclass(frozen=True, slots=True)
class Bar:
    """One wheel's window on the strip: where it lies in units of the drawing, and in words."""

    id: str
    code: str
    style: str
    said: str
    x: float
    width: float
    ripe_now: bool


@dataclass(frozen=True, slots=True)
class Month:
    """Where a month begins on the strip."""

    x: float
    word: str


@dataclass(frozen=True, slots=True)
class MakeBy:
    """A style, when to make it, and which wheels will be ripe anyway."""

    style: str
    when: str
    late: bool
    ready: str


@dataclass(frozen=True, slots=True)
class RipePage:
    """The page; `unknown`: codes of wheels whose day of making or window nobody said."""

    template: ClassVar[str] = "ripe.html"
    title: str
    bars: tuple[Bar, ...]
    months: tuple[Month, ...]
    unknown: str
    form: Form
    day: date
    make_by: tuple[MakeBy, ...]


@router.get(PATH)
def ripe(visit: Guest, day: Annotated[str, Query(max_length=40)] = "") -> Response:
    household = visit.household
    today = words.local(visit.now_at, household).date()
    with visit.looking() as db:
        wheels, by_id = living(db), {own.id: own for own in styles(db)}
    wanted, form = _wanted(day, household, visit.now_at)
    windows = [(wheel, found) for wheel in wheels if (found := _window(wheel, by_id)) is not None]
    known = {wheel.id for wheel, _ in windows}
    page = RipePage(
        title="Ripe when",
        bars=tuple(_bars(windows, by_id, today, household)),
        months=tuple(_months(today)),
        unknown=", ".join(wheel.code or "without a code" for wheel in wheels if wheel.id not in known),
        form=form,
        day=wanted,
        make_by=tuple(_make_by(own, windows, wanted, today, household) for own in by_id.values()),
    )
    return visit.refused(page) if form.errors else visit.page(page)


def _wanted(text: str, household: Household, now_at: datetime) -> tuple[date, Form]:
    """The day that was asked for; mid December where none was, since that is when people ask."""
    today = words.local(now_at, household).date()
    usual = date(today.year + (today > date(today.year, 12, 15)), 12, 15)
    form = Form({"day": text or words.long_date(usual, household)})
    if not text:
        return usual, form
    try:
        return parse_day(text, habits(household, now_at), ahead=True), form
    except EntryRefused as refused:
        return usual, form.wrong("day", str(of_field("day", refused)))


def _window(wheel: Wheel, by_id: dict[str, Style]) -> Window | None:
    own = by_id.get(wheel.style_id or "")
    return None if own is None else window(wheel.made_on, own.sheet.ripe_from_d, own.sheet.ripe_to_d)


def _bars(
    windows: list[tuple[Wheel, Window]], by_id: dict[str, Style], today: date, household: Household
) -> Iterator[Bar]:
    """Wheels in the order in which they ripen; a window that is over is told, not drawn."""
    for wheel, own in sorted(windows, key=lambda pair: (pair[1].first, pair[0].code)):
        place = on_strip(own.first, own.last, today, YEAR_D) or (0.0, 0.0)
        yield Bar(
            wheel.id,
            wheel.code or "without a code",
            by_id[wheel.style_id or ""].sheet.name,
            _said(own, today, household),
            round(place[0] * WIDTH, 1),
            round(max(place[1] * WIDTH, 2.0) if place[1] else 0.0, 1),
            own.holds(today),
        )


def _said(own: Window, today: date, household: Household) -> str:
    first, last = words.short_date(own.first, household), words.short_date(own.last, household)
    if own.last is not None and own.last < today:
        return f"past its best since {last}"
    if own.first <= today:
        return "ripe now" if own.last is None else f"ripe now, until {last}"
    return f"from {first}" if own.last is None else f"{first} to {last}"


def _months(today: date) -> Iterator[Month]:
    """The first of each month to come; every second is named, for there is no room for more."""
    day = (today.replace(day=1) + timedelta(days=32)).replace(day=1)
    number = 0
    while (day - today).days < YEAR_D - 15:
        name = words.MONTHS[day.month - 1][:3] if number % 2 == 0 else ""
        yield Month(round((day - today).days / YEAR_D * WIDTH, 1), name)
        day, number = (day + timedelta(days=32)).replace(day=1), number + 1


def _make_by(own: Style, windows: list[tuple[Wheel, Window]], day: date, today: date, household: Household) -> MakeBy:
    found = make_between(day, own.sheet.ripe_from_d, own.sheet.ripe_to_d)
    ready = [wheel.code for wheel, its in windows if wheel.style_id == own.id and its.holds(day) and wheel.code]
    if found is None:
        return MakeBy(own.sheet.name, "its window is not known", True, ", ".join(ready))
    earliest, latest = found
    late = latest < today
    said = f"make by {words.long_date(latest, household)}"
    if late:
        said = f"too late to make: it had to be by {words.long_date(latest, household)}"
    elif earliest is not None and earliest > today:
        said = f"make between {words.long_date(earliest, household)} and {words.long_date(latest, household)}"
    return MakeBy(own.sheet.name, said, late, ", ".join(ready))
