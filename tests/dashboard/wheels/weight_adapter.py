"""Hands simulated wheels to the method under test, as the book and the readings would."""

from dataclasses import dataclass

import numpy as np

from collector.air.model import Air, Course, Origin, unknown_course
from dashboard.wheels.weight.exposure import STEP_MS, Exposure, Home, Under, exposed
from dashboard.wheels.weight.fit import Fit, Weighings, Wheel, fitted
from dashboard.wheels.weight.priors import open_area_m2, prior_of
from tests.dashboard.wheels.weight_harness import BEGIN_MS, Herd, SimWheel

DAY_MS = 86_400_000


def air_around(herd: Herd, wheel: SimWheel, until_ms: int | None = None) -> Air:
    """The measured air of where a wheel stood, place after place."""
    n = len(herd.caves[0].true_c)
    grid = BEGIN_MS + np.arange(n, dtype=np.int64) * STEP_MS
    warm, damp = unknown_course(n), unknown_course(n)
    for stand in wheel.stands:
        cave, rows = herd.caves[stand.cave], grid >= stand.from_ms
        origin = Origin.ASSUMED if cave.assumed else Origin.MEDIAN
        _put(warm, cave.measured_c, 0.3, origin, rows)
        _put(damp, cave.measured_pct, cave.humidity_u_pct, origin, rows)
    keep = grid < (until_ms if until_ms is not None else grid[-1] + STEP_MS)
    return Air(grid[keep], _kept(warm, keep), _kept(damp, keep))


def _put(course: Course, values: np.ndarray, u: float, origin: Origin, rows: np.ndarray) -> None:
    gone = np.isnan(values)
    for name in ("mean", "low", "high"):
        getattr(course, name)[rows] = values[rows]
    course.known[rows] = np.where(gone[rows] | (origin == Origin.ASSUMED), 0.0, 1.0)
    course.uncertainty[rows] = np.where(gone[rows], np.nan, u)
    course.origin[rows] = np.where(gone[rows], int(Origin.UNKNOWN), int(origin))


def _kept(course: Course, keep: np.ndarray) -> Course:
    return Course(*(getattr(course, n)[keep] for n in ("mean", "low", "high", "known", "uncertainty", "origin")))


@dataclass(frozen=True, slots=True)
class Case:
    """One simulated wheel as the method sees it, with its air over what came."""

    sim: SimWheel
    wheel: Wheel
    weighings: Weighings
    exposure: Exposure
    fit: Fit


def covers_of(wheel: SimWheel) -> list[Under]:
    return [Under(stand.from_ms, stand.covering) for stand in wheel.stands]


def weighings_of(wheel: SimWheel) -> Weighings:
    """What was written down, the plug that was written down reckoned in."""
    at_ms = np.array([one.at_ms for one in wheel.weighed], dtype=np.int64)
    shown = np.array([one.shown_g for one in wheel.weighed], dtype=float)
    shown *= np.where(at_ms > plug_ms(wheel), 1 / plug_share(wheel), 1.0)
    return Weighings(
        at_ms, shown, np.array([o.step_g for o in wheel.weighed]), np.array([o.wet for o in wheel.weighed])
    )


def plug_ms(wheel: SimWheel) -> float:
    return wheel.plug[0] if wheel.plug else np.inf


def plug_share(wheel: SimWheel) -> float:
    """Which share a plug left of the wheel, by the last weighing before it."""
    if wheel.plug is None:
        return 1.0
    before = [one.shown_g for one in wheel.weighed if one.at_ms <= wheel.plug[0]]
    return 1 - wheel.plug[1] / before[-1]


def case_of(herd: Herd, sim: SimWheel) -> Case:
    first = sim.weighed[0]
    area = open_area_m2(first.shown_g, 1000 * sim.diameter_m, 1000 * sim.height_m)
    if sim.cut_ms is not None:
        area = area / 2 + (sim.diameter_m * sim.height_m if sim.face == "bare" else 0.0)
    wheel = Wheel(
        area, sim.cut_ms if sim.cut_ms is not None and sim.face == "bare" else sim.made_ms, prior_of(sim.rind)
    )
    homes = [Home(stand.from_ms, stand.cave) for stand in sim.stands]
    exposure = exposed(air_around(herd, sim), covers_of(sim), first.at_ms, sim.due_ms, homes)
    weighings = weighings_of(sim)
    return Case(sim, wheel, weighings, exposure, fitted(wheel, weighings, exposure))
