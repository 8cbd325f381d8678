"""The true mass of the demo's wheels over time, from the air of the places where they stood."""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from collector.demo.air_run import DayAir
from collector.demo.noise import FloatArray, TimeArray
from collector.demo.probes import LEAD_IN
from collector.demo.vapour import pressure_pa, saturated_kg_m3
from collector.demo.weather import DAY_MS, HOUR_MS
from collector.demo.wheels import Wheel, flux_coefficient

HOURS = 24
MINUTE_S = 60.0
GRAMS = 1000.0


@dataclass(frozen=True, slots=True)
class DaySums:
    """Pressure at the wheels' surface and in the air, summed from midnight UTC to each full hour [Pa s].

    Shape (25, places); places are the columns of `DayAir`.
    """

    full_pa_s: FloatArray
    vapour_pa_s: FloatArray


def sums_of_day(air: DayAir) -> DaySums:
    """Sum up a day's air, as the wheels feel it.

    Args:
        air: the true air of a UTC day.
    Returns:
        The sums: at saturation over the wheels' temperature, and of the vapour in the air.
    """
    contents_c = air.contents_c[LEAD_IN:]
    full = pressure_pa(saturated_kg_m3(contents_c), contents_c)
    vapour = pressure_pa(air.vapour_kg_m3[LEAD_IN:], contents_c)
    return DaySums(_hourly(full), _hourly(vapour))


def _hourly(course_pa: FloatArray) -> FloatArray:
    each = MINUTE_S * course_pa.reshape(HOURS, -1, course_pa.shape[1]).sum(axis=1)
    return np.concatenate((np.zeros((1, each.shape[1])), np.cumsum(each, axis=0)))


def mass_g(wheel: Wheel, at_ms: TimeArray, sums: Callable[[int], DaySums], column: Callable[[str], int]) -> FloatArray:
    """What a wheel, or all pieces of a batch, truly weighs: nothing taken out, dry and off its board.

    Args:
        wheel: the wheel.
        at_ms: times [ms since 1970, UTC], shape (n,), in order.
        sums: the air of a day, by days since 1970-01-01 UTC.
        column: the column of a place in the sums.
    Returns:
        Mass [g], shape (n,); NaN before it is made and once it is gone.
    Source: mass flux k (a_w p_s - p) over the open area, and what a living rind breathes out.
    """
    there = np.array([wheel.is_there(int(at)) for at in at_ms], dtype=bool)
    mass = np.full(at_ms.size, np.nan)
    if not there.any():
        return mass
    edges = _edges(wheel, at_ms[there])
    lost = [_lost_g(wheel, start, end, sums, column) for start, end in pairwise(edges)]
    total = np.concatenate(([0.0], np.cumsum(lost)))
    mass[there] = wheel.made_g - total[np.searchsorted(edges, at_ms[there])]
    return mass


def _edges(wheel: Wheel, at_ms: TimeArray) -> list[int]:
    last = int(at_ms[-1])
    midnights = range((wheel.made_ms // DAY_MS + 1) * DAY_MS, last, DAY_MS)
    moves = [stay.from_ms for stay in wheel.stays] + [covered.from_ms for covered in wheel.coverings]
    inside = {move for move in moves if move < last}
    return sorted({wheel.made_ms, *midnights, *inside, *at_ms.tolist()})


def _lost_g(
    wheel: Wheel, from_ms: int, to_ms: int, sums: Callable[[int], DaySums], column: Callable[[str], int]
) -> float:
    day = from_ms // DAY_MS
    air = sums(day)
    place = column(wheel.place_at(from_ms))
    full = _between(air.full_pa_s[:, place], from_ms - day * DAY_MS, to_ms - day * DAY_MS)
    vapour = _between(air.vapour_pa_s[:, place], from_ms - day * DAY_MS, to_ms - day * DAY_MS)
    # The rind is as old as at noon for the whole day, as it is for the air of the room.
    age_d = max(day * DAY_MS + DAY_MS // 2 - wheel.made_ms, 0) / DAY_MS
    k = flux_coefficient(wheel.style, age_d, wheel.covering_at(from_ms)) * wheel.own_share
    evaporated = GRAMS * k * wheel.area_m2 * (wheel.style.activity * full - vapour)
    breathed = wheel.style.breathes_g_m2_d * wheel.area_m2 * (to_ms - from_ms) / DAY_MS
    return evaporated + breathed


def _between(summed: FloatArray, from_ms: int, to_ms: int) -> float:
    return _up_to(summed, to_ms) - _up_to(summed, from_ms)


def _up_to(summed: FloatArray, in_day_ms: int) -> float:
    hour = min(in_day_ms // HOUR_MS, HOURS - 1)
    share = in_day_ms / HOUR_MS - hour
    return float(summed[hour] + share * (summed[hour + 1] - summed[hour]))
