"""One wheel's weight as a page and the command line show it: plain values that go through a pipe."""

from dataclasses import asdict, dataclass, field
from datetime import date
from typing import Any

import numpy as np
from sqlalchemy import Connection

from dashboard import words
from dashboard.charts.weight_figure import Foreseen, LossChart, weight_figure
from dashboard.household import Household
from dashboard.weights import said
from dashboard.weights.answer import Ahead, Answer, answered, future, on_scale
from dashboard.weights.around import DAY_MS, Around
from dashboard.weights.kept import Forecast
from dashboard.weights.known import Known, day_of, known
from dashboard.wheels import tables
from dashboard.wheels.book import Style, makes, wheel_book
from dashboard.wheels.kinds.coverings import COVERINGS
from dashboard.wheels.weight.exposure import Exposure
from dashboard.wheels.weight.forecast import foretold
from dashboard.wheels.weight.moisture import Composition
from dashboard.wheels.weight.pace import Pace
from dashboard.wheels.weight.to_come import Doubt, steady

KEPT_AHEAD_D = 30
PACE_D = 14
TRIED_PCT = (75.0, 95.0)  # two humidities; between them the loss is a straight line
USUAL_SIZE_G = 3_000.0
NO_LONGER_HERE = "It is no longer here, so nothing is foretold."
NOT_WEIGHED = "It was not weighed yet. Weigh it, and again in a week: then its weight can be foretold."


@dataclass(frozen=True, slots=True)
class Wish:
    """What somebody asks of a wheel: a covering, a loss to aim at [%], a ready day; empty for the usual."""

    cover_with: str = ""
    aim_pct: float | None = None
    on: date | None = None


@dataclass(frozen=True, slots=True)
class Told:
    """What is shown.

    Args:
        state, headline: as a card shows them. sentences: beneath. rows: day, loss, interval of the course.
        places, coverings: name, loss, interval. forecast: to be kept, as `kept.Forecast` takes it; None for none.
    """

    state: str
    headline: str
    sentences: list[str] = field(default_factory=list)
    counted_from: str = ""
    odd: list[str] = field(default_factory=list)
    moisture: list[str] = field(default_factory=list)
    ready_on: str = ""
    aim_pct: float | None = None
    cover_with: str = ""
    rows: list[list[str]] = field(default_factory=list)
    places: list[list[str]] = field(default_factory=list)
    coverings: list[list[str]] = field(default_factory=list)
    figure: dict[str, Any] | None = None
    forecast: dict[str, Any] | None = None


def told(
    db: Connection, around: Around, wheel_id: str, styles: dict[str, Style], household: Household, wish: Wish
) -> Told | None:
    """Everything about the weight of a wheel; None where the book has no such wheel."""
    book = wheel_book(db, wheel_id)
    if book is None:
        return None
    if not book.wheel.alive:
        return Told("unknown", NO_LONGER_HERE)
    found = known(db, around, book, styles.get(book.wheel.style_id or ""), household, wish.on)
    if found is None:
        return Told("unknown", NOT_WEIGHED)
    answer = answered(db, around, found, household, wish.cover_with, wish.aim_pct)
    state, headline = said.headline(answer, around, household)
    places = {place.id: place.name for place in around.facts.places.values()}
    return Told(
        state=state,
        headline=headline,
        sentences=said.sentences(answer, around, household),
        counted_from=said.start_words(answer, household),
        odd=said.odd_words(answer, household),
        moisture=said.moisture_words(answer, _composition(db, found)),
        ready_on=day_of(found.due_ms, household).isoformat(),
        aim_pct=answer.aim_pct,
        cover_with=answer.cover_with,
        rows=_rows(answer, household),
        places=[list(row) for row in said.choice_rows(answer.places, places)],
        coverings=[list(r) for r in said.choice_rows(answer.coverings, {n: c.word for n, c in COVERINGS.items()})],
        figure=weight_figure(_chart(answer), household),
        forecast=asdict(to_keep(around, found)),
    )


def _composition(db: Connection, found: Known) -> Composition | None:
    """The starting moisture and fat that its make's sheet gives."""
    make_id = found.book.wheel.make_id
    own = makes(db, tables.make.c.id == make_id) if make_id else []
    sheet = own[0].sheet if own else None
    if sheet is None or not sheet.moisture_pct or sheet.moisture_pct + (sheet.fat_pct or 0) > 100:
        return None
    return Composition(sheet.moisture_pct, sheet.fat_pct)


def _rows(answer: Answer, household: Household) -> list[list[str]]:
    course, known_ = answer.last_month.course, answer.known
    return [
        [
            words.long_date(day_of(int(at), household), household),
            said.lost(known_.loss_pct(float(middle))),
            said.interval(known_.loss_pct(float(high)), known_.loss_pct(float(low))),
            words.weight(float(middle), household),
        ]
        for at, low, middle, high in zip(course.at_ms, course.low_g, course.middle_g, course.high_g, strict=True)
    ]


def _chart(answer: Answer) -> LossChart:
    known_, fit = answer.known, answer.known.fit
    odd = {one.index for one in fit.odd if not one.lasts}
    points = [
        (number, (int(at), known_.loss_pct(float(grams))))
        for number, (at, grams) in enumerate(zip(fit.weighings.at_ms, fit.weighings.weight_g, strict=True))
    ]
    limits = known_.limits
    return LossChart(
        [point for number, point in points if number not in odd],
        [point for number, point in points if number in odd],
        _foreseen(known_, answer.last_month),
        _foreseen(known_, answer.in_target) if answer.in_target else None,
        (limits.low_pct, limits.high_pct) if limits else None,
        known_.due_ms,
    )


def _foreseen(found: Known, ahead: Ahead) -> Foreseen:
    """A course in losses; of few weighings a plain line from now to the ready day."""
    course = ahead.course
    middle, least, most = (
        [found.loss_pct(float(grams)) for grams in values] for values in (course.middle_g, course.high_g, course.low_g)
    )
    at_ms = [int(at) for at in course.at_ms]
    if found.fit.is_plain:
        at_ms, middle, least, most = ([values[0], values[-1]] for values in (at_ms, middle, least, most))  # type: ignore[assignment]
    return Foreseen(at_ms, middle, least, most)


def to_keep(around: Around, found: Known) -> Forecast:
    """The forecast that is kept for the score, with what the cave's setting and the round need of the wheel."""
    now_ms = int(found.past.edges_ms[-1])
    due_ms = now_ms + KEPT_AHEAD_D * DAY_MS
    ahead = future(around, found, found.place_id, max(due_ms, found.due_ms))
    course = on_scale(found, foretold(found.fit, ahead, np.array([due_ms], dtype=np.int64)))
    facts = {
        "start_g": found.start_g, "style_id": found.book.wheel.style_id or "", "place_id": found.place_id or "",
        "pace": _pace(found), "wants": _wants(around, found),
    }  # fmt: skip
    low, middle, high = (round(float(g[0]), 2) for g in (course.low_g, course.middle_g, course.high_g))
    return Forecast(found.book.wheel.id, due_ms, low, middle, high, facts)


def _pace(found: Known) -> dict[str, float] | None:
    """How it lost over its last weeks, brought to the usual size; None where two weighings do not tell."""
    fit = found.fit
    at_ms, grams = fit.weighings.at_ms[fit.used], fit.weighings.dry_g[fit.used]
    early = np.flatnonzero(at_ms <= at_ms[-1] - PACE_D * DAY_MS)
    if not len(early) or any(odd.lasts and fit.weighings.at_ms[odd.index] > at_ms[early[-1]] for odd in fit.odd):
        return None
    first = int(early[-1])
    days = float(at_ms[-1] - at_ms[first]) / DAY_MS
    rate = 100 * float(grams[first] - grams[-1]) / found.start_g / days
    span = _between(found.past, int(at_ms[first]), int(at_ms[-1]))
    return asdict(
        Pace(
            rate_pct_d=rate * (found.start_g / USUAL_SIZE_G) ** (1 / 3),
            pull_pa=span.mean_pull_pa(fit.activity),
            open_share=float(np.mean(span.lets_through)),
            age_d=max(float(at_ms[-1] + at_ms[first]) / 2 - fit.wheel.born_ms, 0) / DAY_MS,
        )
    )


def _between(exposure: Exposure, from_ms: int, to_ms: int) -> Exposure:
    """The bins between two times, whole ones."""
    first = int(np.searchsorted(exposure.edges_ms, from_ms))
    last = max(int(np.searchsorted(exposure.edges_ms, to_ms)), first + 1)
    last = min(last, len(exposure))
    first = min(first, last - 1)
    return Exposure(
        exposure.edges_ms[first : last + 1], exposure.full_pa_s[first:last], exposure.vapour_pa_s[first:last],
        exposure.doubt_pa_s[:, first:last], exposure.lets_through[first:last], exposure.known[first:last],
    )  # fmt: skip


def _wants(around: Around, found: Known) -> dict[str, Any] | None:
    """What it would lose in two humidities by its ready day, for the setting of its cave."""
    limits = found.limits
    if limits is None or found.place_id is None:
        return None
    now_ms = int(found.past.edges_ms[-1])
    month = around.month_air(found.place_id).temperature_c.mean if around.place(found.place_id) else np.array([])
    warm = float(np.nanmean(month)) if np.any(~np.isnan(month)) else 12.0
    losses = []
    for damp in TRIED_PCT:
        ahead = found.past.then(steady(warm, damp, Doubt(), (now_ms, found.due_ms), found.covers))
        course = foretold(found.fit, ahead, np.array([found.due_ms], dtype=np.int64))
        losses.append(round(found.loss_pct(float(course.middle_g[0])), 3))
    return {
        "loss_pct": losses, "low_pct": limits.low_pct, "high_pct": limits.high_pct,
        "takes_up_pct": round(100 * found.fit.activity, 1),
    }  # fmt: skip
