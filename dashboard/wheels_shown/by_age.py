"""Wheels from day 0 beside each other: read from the book, drawn, and told at one age."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, time
from typing import Any

from sqlalchemy import Connection, select

from dashboard.charts.air_figure import CONFIG, plain
from dashboard.charts.loss_panel import LINES
from dashboard.household import Household
from dashboard.wheels import tables
from dashboard.wheels.ages import AtAge, Course, Tasted, age_at, loss_at, reached, tasted_at
from dashboard.wheels.bodies.doings import Tasting
from dashboard.wheels.book import WheelBook, weight_books

MOST_READ = 24  # wheels of a style, the newest; older ones are found by make
MOST_DRAWN = len(LINES)
LAST = 3
NOTHING = "–"
VERDICTS = {1: "1 of 5", 2: "2 of 5", 3: "3 of 5", 4: "4 of 5", 5: "5 of 5"}


@dataclass(frozen=True, slots=True)
class Stood:
    """How one wheel stood at an age, in words; "–" for what nobody weighed or tasted near it."""

    id: str
    code: str
    lost: str
    verdict: str
    said: str
    next_time: str

    def texts(self) -> tuple[str, ...]:
        return self.code, self.lost, self.verdict, self.said, self.next_time


def courses(db: Connection, household: Household, now_at: datetime, **wanted: str) -> list[Course]:
    """The wheels of a style or make from their day 0, the youngest first; those of unknown age are left out.

    Args:
        wanted: `style_id` or `make_id`, "" for any.
    """
    c = tables.wheel.c
    conditions = [c[name] == value for name, value in wanted.items() if value]
    of_known_age = select(c.id).where(*conditions, c.made_on.is_not(None), c.parent_id.is_(None))
    newest = db.execute(of_known_age.order_by(c.made_on.desc(), c.code.desc()).limit(MOST_READ)).scalars().all()
    return [course_of(book, household, now_at) for book in weight_books(db, newest)]


def course_of(book: WheelBook, household: Household, now_at: datetime) -> Course:
    """One wheel from the noon of its day 0.

    Raises:
        ValueError: a wheel whose day of making is not known.
    """
    if book.wheel.made_on is None:
        raise ValueError(f"made_on of wheel {book.wheel.id} must be known")
    day_0 = datetime.combine(book.wheel.made_on, time(12), household.zone).astimezone(UTC)
    points = [point for point in book.history.losses if not point.wet] or list(book.history.losses)
    ended_at = book.history.counted.ended_at
    return Course(
        book.wheel.id,
        book.wheel.code or "without a code",
        tuple(AtAge(max(age_at(day_0, p.at), 0.0), p.loss_pct) for p in points),
        tuple(_tasted(e.body, age_at(day_0, e.happened_at)) for e in book.entries if isinstance(e.body, Tasting)),
        age_at(day_0, now_at),
        None if ended_at is None else age_at(day_0, ended_at),
    )


def _tasted(body: Tasting, age_d: float) -> Tasted:
    said = "; ".join(text for text in (body.appearance, body.texture, body.aroma, body.flavour, body.text) if text)
    return Tasted(max(age_d, 0.0), body.verdict, said, body.next_time)


def stood(found: Sequence[Course], age_d: float) -> list[Stood]:
    """How each wheel that reached an age stood there, the youngest first."""
    return [_stood(course, age_d) for course in found if reached(course, age_d)]


def _stood(course: Course, age_d: float) -> Stood:
    loss = loss_at(course.losses, age_d)
    tasted = tasted_at(course.tastings, age_d)
    return Stood(
        course.id,
        course.code,
        NOTHING if loss is None else f"{loss:.1f}",
        VERDICTS.get(tasted.verdict or 0, NOTHING) if tasted else NOTHING,
        tasted.words if tasted else "",
        tasted.next_time if tasted else "",
    )


def to_draw(found: Sequence[Course], age_d: float) -> list[Course]:
    """The wheels that are drawn: those that reached the age first, each kind the youngest first."""
    told = [course for course in found if course.losses or course.tastings]
    return sorted(told, key=lambda course: not reached(course, age_d))[:MOST_DRAWN]


def by_age_figure(found: Sequence[Course]) -> dict[str, Any]:
    """Loss above, verdicts beneath, over age in days; a wheel has the same sign in both."""
    drawn = found[:MOST_DRAWN]
    data = [trace for number, course in enumerate(drawn) for trace in _traces(number, course)]
    layout = {
        "xaxis": {"title": {"text": "age in days"}, "anchor": "y2", "rangemode": "tozero", "fixedrange": True},
        "yaxis": {"title": {"text": "lost %"}, "domain": [0.38, 1], "autorange": "reversed", "fixedrange": True},
        "yaxis2": {
            "title": {"text": "verdict"}, "domain": [0, 0.3], "range": [0.5, 5.5], "dtick": 1, "fixedrange": True,
        },
        "dragmode": False, "margin": {"l": 48, "r": 12, "t": 12, "b": 40}, "hovermode": "closest",
    }  # fmt: skip
    return {"data": data, "layout": layout, "config": CONFIG}


def _traces(number: int, course: Course) -> list[dict[str, Any]]:
    name, look = plain(course.code), LINES[number]
    tasted = [one for one in course.tastings if one.verdict is not None]
    return [
        {
            "type": "scatter", "x": [round(p.age_d, 1) for p in course.losses],
            "y": [round(p.value, 2) for p in course.losses], "name": name, "legendgroup": name, "yaxis": "y",
            "mode": "lines+markers", "hovertemplate": f"{name}: %{{y:.1f}} % lost at %{{x:.0f}} days<extra></extra>",
            **look,
        },
        {
            "type": "scatter", "x": [round(t.age_d, 1) for t in tasted], "y": [t.verdict for t in tasted],
            "name": name, "legendgroup": name, "showlegend": False, "yaxis": "y2", "mode": "markers",
            "text": [plain(t.words) for t in tasted], "marker": {**look["marker"], "size": 12},
            "hovertemplate": f"{name}: %{{y}} of 5 at %{{x:.0f}} days<br>%{{text}}<extra></extra>",
        },
    ]  # fmt: skip
