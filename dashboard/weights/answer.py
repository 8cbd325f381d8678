"""What can be said of one wheel's weight, in numbers. Only reads."""

from dataclasses import dataclass

import numpy as np
from sqlalchemy import Connection

from collector.records.columns import from_ms
from collector.records.facts import Target
from dashboard.household import Household
from dashboard.weights.around import DAY_MS, Around
from dashboard.weights.known import Known, day_of
from dashboard.wheels.ages import loss_at
from dashboard.wheels.kinds.coverings import BARE, COVERINGS
from dashboard.wheels.weight.advice import Choice, CoverDay, choices, when_to_cover
from dashboard.wheels.weight.exposure import Exposure, Under
from dashboard.wheels.weight.forecast import Course, foretold, shown_on_scale
from dashboard.wheels.weight.to_come import USUAL_SPREAD_PCT, Doubt, repeated, steady
from dashboard.wheels_shown.by_age import LAST, courses

DRAWN_TIMES = 14
# Common practice, no source: what is put round a rind to hold it; living rinds must breathe.
USUAL_COVER = {
    "bloomy": "two_ply", "washed": "waxed_paper", "smeared": "waxed_paper", "blue": "foil", "natural": "barrier_bag",
    "cloth": "cloth_fat", "coated": "barrier_bag", "waxed": "wax",
}  # fmt: skip
OFFERED = ("cloth_fat", "coat", "two_ply", "waxed_paper", "breathable_bag", "barrier_bag", "wax")
MIDDLE_C = 12.0


@dataclass(frozen=True, slots=True)
class Ahead:
    """One thought of the air to come and the course in it."""

    exposure: Exposure
    course: Course


@dataclass(frozen=True, slots=True)
class Answer:
    """The numbers.

    Args:
        last_month: if the air stays as in the last month. in_target: in the middle of its place's target, None without.
        now_loss_pct: lost by now. loss_pct: lost by its ready day in the air of the last month, loss_low_pct to
            loss_high_pct its 90 % interval.
        cover: when to cover it with `cover_with`, None where nothing asks for it. places, coverings: what each would
            bring, its own first.
        last_three_pct: mean loss of the last three wheels of its style at that age. aim_pct: what it should lose.
        spread_pct: by how much past stretches as long as the time to come differed [points of humidity].
    """

    known: Known
    last_month: Ahead
    in_target: Ahead | None
    now_loss_pct: float
    loss_pct: float
    loss_low_pct: float
    loss_high_pct: float
    cover: CoverDay | None
    cover_with: str
    places: tuple[Choice, ...]
    coverings: tuple[Choice, ...]
    last_three_pct: float | None
    aim_pct: float | None
    spread_pct: float

    @property
    def is_too_dry(self) -> bool:
        limits = self.known.limits
        return limits is not None and self.loss_pct > limits.high_pct

    @property
    def is_too_damp(self) -> bool:
        limits = self.known.limits
        return limits is not None and self.loss_pct < limits.low_pct


def answered(
    db: Connection,
    around: Around,
    known: Known,
    household: Household,
    cover_with: str = "",
    aim_pct: float | None = None,
) -> Answer:
    """Foretell a wheel and weigh the choices.

    Args:
        cover_with: a covering; the usual one of its rind by default. aim_pct: what it should have lost by its ready day
            [%], in place of the middle of its limits.
    """
    now_ms = int(known.past.edges_ms[-1])
    rind = known.style.rind if known.style else "natural"
    cover_with = cover_with if cover_with in COVERINGS else USUAL_COVER.get(rind, "barrier_bag")
    ahead = future(around, known, known.place_id)
    course = foretold(known.fit, ahead, _times(known))
    aim = aim_pct if aim_pct is not None else known.limits.aim_pct if known.limits else None
    loss, least, most = (known.loss_pct(float(g[-1])) for g in (course.middle_g, course.high_g, course.low_g))
    too_dry = known.limits is not None and loss > known.limits.high_pct
    asks = aim is not None and (aim_pct is not None or too_dry) and loss > aim
    cover = None
    if asks and aim is not None and known.book.wheel.covering != cover_with:
        under = Under(0, cover_with)
        cover = when_to_cover(known.fit, ahead, known.covers, under, known.mass_g(aim), now_ms, known.due_ms)
    return Answer(
        known, Ahead(ahead, course), _in_target(around, known), known.loss_pct(float(course.middle_g[0])),
        loss, least, most, cover, cover_with, tuple(_places(around, known)), tuple(_coverings(known, ahead, now_ms)),
        _last_three(db, known, household), aim, _spread(around, known),
    )  # fmt: skip


def _times(known: Known) -> np.ndarray[tuple[int, ...], np.dtype[np.int64]]:
    now_ms = int(known.past.edges_ms[-1])
    return np.unique(np.linspace(now_ms, known.due_ms, DRAWN_TIMES).astype(np.int64))


def future(around: Around, known: Known, place_id: str | None, due_ms: int | None = None) -> Exposure:
    """The wheel's air so far and then that of a place as in the last month, up to its ready day."""
    now_ms, until_ms = int(known.past.edges_ms[-1]), due_ms or known.due_ms
    place = around.place(place_id)
    if place is None:
        return known.past.then(repeated(known.past, Doubt(4.0, 6.0), (now_ms, until_ms), known.covers))
    home = known.home_number(place.id) if around.has_own_probe(place.id) else None
    own = _spread(around, known)
    # The year of another place is not read for this: it is taken to vary as the own one does, or as places usually do.
    spread = own if place_id == known.place_id else max(own, USUAL_SPREAD_PCT)
    doubt = Doubt(spread, around.probe_u_pct(place.id), home)
    return known.past.then(repeated(around.month(place.id), doubt, (now_ms, until_ms), known.covers))


def _spread(around: Around, known: Known) -> float:
    place = around.place(known.place_id)
    days = (known.due_ms - int(known.past.edges_ms[-1])) / DAY_MS
    return around.spread_pct(place.id, days) if place else 4.0


def _in_target(around: Around, known: Known) -> Ahead | None:
    place = around.place(known.place_id)
    target = around.facts.target_at(place.id, around.now_at) if place else None
    middle = _middle(target)
    if place is None or middle is None:
        return None
    now_ms = int(known.past.edges_ms[-1])
    home = known.home_number(place.id) if around.has_own_probe(place.id) else None
    doubt = Doubt(0.5, around.probe_u_pct(place.id), home)
    exposure = known.past.then(steady(*middle, doubt, (now_ms, known.due_ms), known.covers))
    return Ahead(exposure, foretold(known.fit, exposure, _times(known)))


def _middle(target: Target | None) -> tuple[float, float] | None:
    """Middle of a target: degC and %; None where it asks for no humidity."""
    if target is None or target.resting:
        return None
    damp = [v for v in (target.humidity_low_pct, target.humidity_high_pct) if v is not None]
    warm = [v for v in (target.temperature_low_c, target.temperature_high_c) if v is not None]
    return (sum(warm) / len(warm) if warm else MIDDLE_C, sum(damp) / len(damp)) if damp else None


def _places(around: Around, known: Known) -> list[Choice]:
    here = known.place_id
    ahead = {place.id: future(around, known, place.id) for place in around.advisable()}
    if here in ahead:
        ahead = {here: ahead.pop(here), **ahead}
    return choices(known.fit, known.start_g, known.due_ms, ahead)


def _coverings(known: Known, ahead: Exposure, now_ms: int) -> list[Choice]:
    own = known.book.wheel.covering
    names = [own, *(name for name in (BARE, *OFFERED) if name != own)]
    tried = {
        name: ahead if name == own else ahead.under([*known.covers, Under(now_ms, name)]) for name in names
    }  # fmt: skip
    return choices(known.fit, known.start_g, known.due_ms, tried)


def _last_three(db: Connection, known: Known, household: Household) -> float | None:
    """Mean loss of the last three other wheels of the style at the age of the ready day."""
    wheel = known.book.wheel
    if wheel.made_on is None or not wheel.style_id:
        return None
    age_d = float((day_of(known.due_ms, household) - wheel.made_on).days)
    now_at = from_ms(int(known.past.edges_ms[-1]))
    found = [c for c in courses(db, household, now_at, style_id=wheel.style_id) if c.id != wheel.id]
    lost = [loss_at(course.losses, age_d) for course in found]
    told = [one for one in lost if one is not None][:LAST]
    return sum(told) / len(told) if len(told) == LAST else None


def on_scale(known: Known, course: Course) -> Course:
    """The course as a scale will show it."""
    return shown_on_scale(course, float(np.median(known.fit.weighings.sigma_g)))
