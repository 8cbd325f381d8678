"""By age: wheels laid over each other from day 0, and how the last three stood at an age."""

from dataclasses import dataclass
from typing import Annotated, ClassVar

from fastapi import APIRouter, Query
from markupsafe import Markup
from sqlalchemy import Connection, func, select
from starlette.responses import Response

from dashboard.charts.figure_text import figure_json
from dashboard.csv_rows import Cell, csv_lines
from dashboard.forms import Form
from dashboard.visit import Guest, Visit
from dashboard.wheels import tables
from dashboard.wheels.ages import Course
from dashboard.wheels.book import styles
from dashboard.wheels_shown.by_age import LAST, Stood, by_age_figure, courses, stood, to_draw

router = APIRouter()
PATH = "/wheels/by-age"
AGES: dict[str, str] = {
    "30": "one month",
    "60": "two months",
    "90": "three months",
    "120": "four months",
    "180": "six months",
    "270": "nine months",
    "365": "a year",
}
HEADS = ("Wheel", "Lost %", "Verdict", "Tasted", "Next time")
ANY = ""
Id = Annotated[str, Query(max_length=40)]


@dataclass(frozen=True, slots=True)
class ByAgePage:
    """The page.

    Args:
        form: what is chosen. style_choices, make_choices, age_choices: word by value.
        last: how the last three stood. rows: all that reached the age. drawn: how many lines the chart has.
    """

    template: ClassVar[str] = "by_age.html"
    title: str
    form: Form
    style_choices: dict[str, str]
    make_choices: dict[str, str]
    age_choices: dict[str, str]
    age_word: str
    style_word: str
    figure: Markup | None
    drawn: int
    count: int
    last: tuple[Stood, ...]
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    csv_path: str


@dataclass(frozen=True, slots=True)
class Chosen:
    """What is looked at: a style or one make, at an age [d]."""

    style_id: str
    make_id: str
    age_d: str


@router.get(PATH)
def by_age(visit: Guest, style: Id = "", make: Id = "", age: Annotated[str, Query(max_length=5)] = "") -> Response:
    with visit.looking() as db:
        style_names = {own.id: own.sheet.name for own in styles(db)}
        chosen = _chosen(db, style_names, style, make, age)
        found = _courses(visit, db, chosen)
        make_names = {ANY: "every make", **_make_codes(db)}
    at_age = stood(found, float(chosen.age_d))
    drawn = to_draw(found, float(chosen.age_d))
    return visit.page(
        ByAgePage(
            title="By age",
            form=Form({"style": chosen.style_id, "make": chosen.make_id, "age": chosen.age_d}),
            style_choices=style_names,
            make_choices=make_names,
            age_choices=AGES,
            age_word=AGES[chosen.age_d],
            style_word=style_names.get(chosen.style_id, "all styles"),
            figure=figure_json(by_age_figure(drawn)) if drawn else None,
            drawn=len(drawn),
            count=len(found),
            last=tuple(at_age[:LAST]),
            columns=HEADS,
            rows=tuple(one.texts() for one in at_age),
            csv_path=f"{PATH}.csv?style={chosen.style_id}&make={chosen.make_id}",
        )
    )


@router.get(f"{PATH}.csv")
def by_age_csv(visit: Guest, style: Id = "", make: Id = "") -> Response:
    """Every weighing and tasting of the wheels by age."""
    with visit.looking() as db:
        found = _courses(visit, db, Chosen(style, make, ""))
    rows: list[tuple[Cell, ...]] = [
        (c.code, round(p.age_d, 2), round(p.value, 2), None, "") for c in found for p in c.losses
    ]
    tasted: list[tuple[Cell, ...]] = [
        (c.code, round(t.age_d, 2), None, t.verdict, t.words) for c in found for t in c.tastings
    ]
    heads: tuple[Cell, ...] = ("wheel", "age (days)", "lost (%)", "verdict (1 to 5)", "tasted")
    headers = {"Content-Disposition": 'attachment; filename="by-age.csv"', "Cache-Control": "private, no-store"}
    return Response(csv_lines([heads, *rows, *tasted]), media_type="text/csv; charset=utf-8", headers=headers)


def _courses(visit: Visit, db: Connection, chosen: Chosen) -> list[Course]:
    """A make names its style by itself, so that it alone decides where one is chosen."""
    style_id = "" if chosen.make_id else chosen.style_id
    return courses(db, visit.household, visit.now_at, style_id=style_id, make_id=chosen.make_id)


def _make_codes(db: Connection) -> dict[str, str]:
    """Every make by id, the latest first; only its code is read."""
    c = tables.make.c
    rows = db.execute(select(c.id, c.code).order_by(c.made_on.desc(), c.id.desc()))
    return {row.id: row.code or "without a code" for row in rows}


def _chosen(db: Connection, names: dict[str, str], style: str, make: str, age: str) -> Chosen:
    """What was asked for; the style with the most wheels where nothing was."""
    c = tables.wheel.c
    if style not in names and not make:
        counted = select(c.style_id).where(c.style_id.is_not(None)).group_by(c.style_id)
        style = db.execute(counted.order_by(func.count().desc(), c.style_id).limit(1)).scalar() or ""
    return Chosen(style if style in names else "", make, age if age in AGES else "90")
