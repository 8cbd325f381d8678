"""The two saturation curves of Hyland and Wexler, and their inverse.

The pressure of water vapour that stands over liquid water, or over ice, at one temperature. Everything in
`collector.moist_air` rests on these two curves and on nothing else.
"""

from dataclasses import dataclass
from math import log

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

KELVIN_AT_0_C = 273.15

# From the Magnus start of `temperature_k` the worst miss between -100 and 200 degC is 5 K, at 200 degC. Newton
# squares it: 0.06 K, 8e-6 K, then nothing that a float can hold. A fixed count keeps every value independent of
# its neighbours in the array, so that one reading gives the same answer alone and among a million.
NEWTON_STEPS = 3


@dataclass(frozen=True, slots=True)
class SaturationCurve:
    """ln p = inverse / T + sum(powers[k] T^k) + log ln T, with p in Pa and T in K.

    `magnus_b` and `magnus_c_k` belong to the simpler curve 611.2 Pa exp(b t / (c + t)) that starts the inversion;
    they leave no trace in the result.
    """

    inverse: float
    powers: tuple[float, ...]
    log: float
    magnus_b: float
    magnus_c_k: float

    def ln_pressure(self, kelvin: FloatArray) -> FloatArray:
        """Natural logarithm of the saturation pressure [ln Pa] at a temperature [K]; a NaN stays a NaN."""
        total: FloatArray = np.asarray(self.powers[-1])
        for power in reversed(self.powers[:-1]):
            total = total * kelvin + power
        return self.inverse / kelvin + total + self.log * np.log(kelvin)

    def slope_per_k(self, kelvin: FloatArray) -> FloatArray:
        """Derivative of `ln_pressure` [1/K] at a temperature [K]: some 7 % a kelvin in a cave."""
        last = len(self.powers) - 1
        total: FloatArray = np.asarray(last * self.powers[last])
        for k in range(last - 1, 0, -1):
            total = total * kelvin + k * self.powers[k]
        slope: FloatArray = total + (self.log - self.inverse / kelvin) / kelvin
        return slope

    def temperature_k(self, ln_pressure: FloatArray) -> FloatArray:
        """The temperature [K] at which `ln_pressure` [ln Pa] is reached, better than 1e-9 K from 173 to 473 K."""
        ratio = ln_pressure - log(611.2)
        kelvin = KELVIN_AT_0_C + self.magnus_c_k * ratio / (self.magnus_b - ratio)
        for _ in range(NEWTON_STEPS):
            kelvin = kelvin - (self.ln_pressure(kelvin) - ln_pressure) / self.slope_per_k(kelvin)
        return kelvin


# Hyland and Wexler 1983 as in the ASHRAE Handbook Fundamentals 2017, chapter 1, equations 6 (over liquid water,
# 0 to 200 degC) and 5 (over ice, -100 to 0 degC). The Magnus pairs are those of WMO-No. 8, annex 4.B.
OVER_WATER = SaturationCurve(
    inverse=-5.8002206e3,
    powers=(1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8),
    log=6.5459673,
    magnus_b=17.62,
    magnus_c_k=243.12,
)
OVER_ICE = SaturationCurve(
    inverse=-5.6745359e3,
    powers=(6.3925247, -9.677843e-3, 6.2215701e-7, 2.0747825e-9, -9.484024e-13),
    log=4.1635019,
    magnus_b=22.46,
    magnus_c_k=272.62,
)
