"""Dew points against the weather stations whose hourly records ship inside the pvlib package, in its data folder.

Files and columns (pvlib 0.16.1, read with its own readers):
    703165TY.csv    Sand Point, Alaska      TMY3: Dry-bulb (C) 0.1, RHum (%) 1, Dew-point (C) 0.1
    723170TYA.CSV   Greensboro, N. Carolina TMY3: the same
    12839.tm2       Miami, Florida          TMY2: DryBulb and DewPoint in tenths of a degree, RHum in %
The last figure is the step to which each is rounded, so the true temperature lies within 0.05 K, the true humidity
within 0.5 points, and the printed dew point within 0.05 K of the true one. The dew point rises with both, so the
two far corners of the rounding bound it, and a printed dew point must lie between them.

Left out: dew points below 0.05 degC, which may be frost points; and six hours on each side of a month's end, where
the months of different years were joined and "discontinuities at the month interfaces are smoothed for 6 hours on
each side" (User's Manual for TMY2s, appendix A), each column by itself. All rows that miss by more than 0.1 K
are among those. What remains misses in less than 1 % of rows, by less than 0.1 K; the files do not say why.
"""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from numpy.typing import NDArray

from collector.moist_air import dew_point_c

Values = NDArray[np.float64]
JOIN_H = 6


@dataclass(frozen=True, slots=True)
class Hours:
    temperature_c: Values
    humidity_pct: Values
    dew_point_c: Values


def read_hours(pvlib: ModuleType, name: str) -> Hours:
    path = Path(str(pvlib.__file__)).parent / "data" / name
    if name.endswith(".tm2"):
        rows, columns, tenths = pvlib.iotools.read_tmy2(path)[0], ["DryBulb", "RHum", "DewPoint"], 10
    else:
        rows, _ = pvlib.iotools.read_tmy3(path, map_variables=False)
        columns, tenths = ["Dry-bulb (C)", "RHum (%)", "Dew-point (C)"], 1
    hour_of_month = (rows.index.day - 1) * 24 + rows.index.hour
    last = rows.index.days_in_month * 24 - JOIN_H
    temperature, humidity, dew = (rows[column].to_numpy(dtype=float) for column in columns)
    inside = np.asarray((hour_of_month > JOIN_H) & (hour_of_month < last)) & (dew / tenths >= 0.05)
    return Hours(temperature[inside] / tenths, humidity[inside], dew[inside] / tenths)


@pytest.fixture(params=["703165TY.csv", "723170TYA.CSV", "12839.tm2"])
def hours(request: pytest.FixtureRequest, reference_library: Callable[[str], ModuleType]) -> Hours:
    return read_hours(reference_library("pvlib"), request.param)


def misses_k(hours: Hours) -> Values:
    """How far each printed dew point lies outside what the rounding of its row allows; 0 or less is inside."""
    t, rh = hours.temperature_c, hours.humidity_pct
    lowest = dew_point_c(t - 0.05, rh - 0.5) - 0.05
    highest = dew_point_c(t + 0.05, np.minimum(rh + 0.5, 100)) + 0.05
    return np.maximum(lowest - hours.dew_point_c, hours.dew_point_c - highest)


def test_dew_points_of_weather_stations_lie_within_the_rounding_of_their_records(hours: Hours) -> None:
    misses = misses_k(hours)
    assert misses.size > 4000
    assert np.mean(misses <= 0) >= 0.99
    assert misses.max() < 0.1


# Rounding is even-handed, so over thousands of rows it leaves the middle where it was; a formula that is out by more
# than a hundredth of a kelvin would move it.
def test_dew_points_of_weather_stations_agree_on_the_whole(hours: Hours) -> None:
    differences = dew_point_c(hours.temperature_c, hours.humidity_pct) - hours.dew_point_c
    assert np.median(differences) == pytest.approx(0, abs=0.01)
    assert np.mean(differences) == pytest.approx(0, abs=0.03)
