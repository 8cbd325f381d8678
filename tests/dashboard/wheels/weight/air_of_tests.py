"""Air, weighings and wheels in a few words."""

import numpy as np

from collector.air.model import STEP_MS, Air, Course, Origin
from collector.readings.model import Values
from dashboard.wheels.weight.exposure import Exposure, Under, exposed
from dashboard.wheels.weight.fit import Weighings, Wheel
from dashboard.wheels.weight.priors import RindPrior, prior_of

FROM_MS, DAY_MS = 1_767_225_600_000, 86_400_000


def course(values: Values, u: float, origin: Origin = Origin.MEDIAN, known: float = 1.0) -> Course:
    gone = np.isnan(values)
    return Course(
        values, values, values, np.where(gone, 0.0, known), np.where(gone, np.nan, u),
        np.where(gone, int(Origin.UNKNOWN), int(origin)).astype(np.int8),
    )  # fmt: skip


def air(
    days: float, warm: float | Values = 12.0, damp: float | Values = 85.0, *, u: float = 2.0, **more: Origin
) -> Air:
    n = int(days * 144)
    grid = FROM_MS + STEP_MS * np.arange(n, dtype=np.int64)
    origin = more.get("origin", Origin.MEDIAN)
    known = 0.0 if origin > Origin.PARENT else 1.0
    filled = (np.broadcast_to(np.asarray(v, dtype=float), (n,)).copy() for v in (warm, damp))
    warm_course, damp_course = (course(v, own_u, origin, known) for v, own_u in zip(filled, (0.3, u), strict=True))
    return Air(grid, warm_course, damp_course)


def at(day: float) -> int:
    return FROM_MS + int(day * DAY_MS)


def felt(days: float, covers: tuple[Under, ...] = (), **more: object) -> Exposure:
    return exposed(air(days, **more), covers, FROM_MS, at(days))  # type: ignore[arg-type]


def weighed(days: list[float], grams: list[float], wet: tuple[int, ...] = ()) -> Weighings:
    return Weighings(
        np.array([at(day) for day in days], dtype=np.int64),
        np.array(grams),
        np.ones(len(days)),
        np.array([number in wet for number in range(len(days))]),
    )


def a_wheel(rind: str = "natural", area_m2: float = 0.1257, prior: RindPrior | None = None) -> Wheel:
    return Wheel(area_m2, FROM_MS - DAY_MS, prior or prior_of(rind))
