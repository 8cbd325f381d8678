"""How long moist air takes, as a multiple of one vectorised Magnus evaluation in the same run.

Run with `python -m tests.bench.bench_moist_air`. It prints a table and asserts nothing: the machine decides the
times, and the ratios are what is comparable between machines. PsychroLib computes one value a call; it is timed on
a sample and scaled to the same number of values.
"""

from collections.abc import Callable
from statistics import median
from time import perf_counter

import numpy as np
import psychrolib  # type: ignore[import-untyped]
from numpy.typing import NDArray

from collector.dew_uncertainty import dew_point_uncertainty_k
from collector.moist_air import (
    absolute_humidity_g_m3,
    dew_point_c,
    frost_point_c,
    humidity_ratio_g_kg,
    saturation_pressure_pa,
    vapour_deficit_pa,
    wet_bulb_c,
)

Values = NDArray[np.float64]
VALUES = 1_000_000
SAMPLE = 2_000
RUNS = 5


def magnus_dew_point_c(t: Values, rh: Values) -> Values:
    """The baseline: the closed form of WMO-No. 8, annex 4.B, whose error is 0.04 K."""
    g = np.log(rh / 100) + 17.62 * t / (243.12 + t)
    dew: Values = 243.12 * g / (17.62 - g)
    return dew


def psychrolib_dew_points(t: Values, rh: Values) -> None:
    for one_t, one_rh in zip(t[:SAMPLE].tolist(), (rh[:SAMPLE] / 100).tolist(), strict=True):
        psychrolib.GetTDewPointFromRelHum(one_t, one_rh)


def seconds(call: Callable[[], object]) -> float:
    """The median of a few runs, after one that warms the memory."""
    call()
    times = []
    for _ in range(RUNS):
        start = perf_counter()
        call()
        times.append(perf_counter() - start)
    return median(times)


def main() -> None:
    random = np.random.default_rng(0)
    t, rh = random.uniform(0.01, 40, VALUES), random.uniform(10, 100, VALUES)
    psychrolib.SetUnitSystem(psychrolib.SI)
    times = {
        "baseline: Magnus, one evaluation": seconds(lambda: magnus_dew_point_c(t, rh)),
        "saturation_pressure_pa": seconds(lambda: saturation_pressure_pa(t)),
        "vapour_deficit_pa": seconds(lambda: vapour_deficit_pa(t, rh)),
        "absolute_humidity_g_m3": seconds(lambda: absolute_humidity_g_m3(t, rh)),
        "humidity_ratio_g_kg": seconds(lambda: humidity_ratio_g_kg(t, rh)),
        "dew_point_c": seconds(lambda: dew_point_c(t, rh)),
        "frost_point_c": seconds(lambda: frost_point_c(t, rh)),
        "dew_point_uncertainty_k": seconds(lambda: dew_point_uncertainty_k(t, rh, 0.2, 2)),
        "wet_bulb_c": seconds(lambda: wet_bulb_c(t, rh)),
        "PsychroLib dew point, scaled": seconds(lambda: psychrolib_dew_points(t, rh)) * VALUES / SAMPLE,
    }
    baseline = times["baseline: Magnus, one evaluation"]
    print(f"{VALUES:,} values".ljust(36) + "ms".rjust(10) + "ratio".rjust(10))
    for name, took in times.items():
        print(name.ljust(36) + f"{1000 * took:10.1f}{took / baseline:10.1f}")


if __name__ == "__main__":
    main()
