"""The humidity that stands over saturated salts in a closed jar, and how well it is known; pure.

Lithium chloride is left out for good: below 18 degC its humidity changes for ever (a humidity calibrator's manual), and
a cave is colder than that.
"""

from dataclasses import dataclass

import numpy as np

from collector.limits import within
from collector.readings.model import Values
from collector.saturation import KELVIN_AT_0_C, OVER_WATER

COLDEST_C = 0.0
WARMEST_C = 30.0
TABLE_C = (5.0, 10.0, 15.0, 20.0, 25.0, 30.0)

# How far probe and salt may differ in temperature once the readings have settled in a jar in a cool-box: our choice.
# At 12 degC 0.1 K are 0.5 to 0.6 points of humidity.
JAR_TEMPERATURE_U_K = 0.1
# What a jar made at home may miss beyond that (too wet, impure salt, not closed). The maker of a salt chamber adds 1.0
# to 1.5 points to Greenspan's figures (data sheet of a humidity calibrator) as a limit; a third of that is our choice.
JAR_U_PCT = 0.5


@dataclass(frozen=True, slots=True)
class Salt:
    """One saturated salt.

    Args:
        name: how it is kept in records.
        word: what a person reads on the packet or in the shop.
        formula: its formula.
        polynomial: humidity [%RH] as powers of the temperature [degC]; empty where the table is interpolated.
        table_pct: humidity [%RH] at 5, 10, ... 30 degC.
        uncertainty_pct: its uncertainty [%RH] at the same temperatures.
        caution: what to mind when handling it, a sentence.
        food: whether it may touch what is eaten.
    """

    name: str
    word: str
    formula: str
    polynomial: tuple[float, ...]
    table_pct: tuple[float, ...]
    uncertainty_pct: tuple[float, ...]
    caution: str
    food: bool = False


KEEP_AWAY = "Not for eating: wear gloves, label the jar, keep it away from children and from the cheese."

# Values and uncertainties: Greenspan, J. Res. Nat. Bur. Stand. 81A:89 (1977), table 2, which claims no accuracy beyond
# the uncertainty. Read in copies: NaCl and MgCl2 from 15 to 30 degC; all polynomials but those of NaBr and Mg(NO3)2;
# one decimal of K2CO3, NaBr, KCl, K2SO4. From memory: the uncertainties of K2CO3, Mg(NO3)2, NaBr, KCl, KNO3, and the
# values of Mg(NO3)2. K2CO3: two copies carry its second coefficient as minus, the printed 43.2 at 25 degC needs plus;
# its uncertainty is given as 0.4 in a printed copy and 0.33 from memory, the larger is taken. Mg(NO3)2: a line through
# its table. K2SO4 at 10 degC: one copy prints 98.5, the polynomial and two others 98.2.
SALTS: tuple[Salt, ...] = (
    Salt(
        "NaCl",
        "table salt",
        "NaCl",
        (75.5164, 0.0398321, -0.265459e-2, 0.2848e-4),
        (75.65, 75.67, 75.61, 75.47, 75.29, 75.09),
        (0.27, 0.22, 0.18, 0.14, 0.12, 0.11),
        "Plain salt without iodine and anti-caking agent is best.",
        food=True,
    ),
    Salt(
        "KCl",
        "potassium chloride",
        "KCl",
        (88.6190, -0.193340, 0.899706e-3),
        (87.67, 86.77, 85.92, 85.11, 84.34, 83.62),
        (0.45, 0.39, 0.33, 0.29, 0.26, 0.25),
        "Pure, not the half-and-half salt substitute of the kitchen.",
    ),
    Salt(
        "K2SO4",
        "potassium sulphate",
        "K2SO4",
        (98.7792, -0.0590502),
        (98.48, 98.18, 97.89, 97.59, 97.30, 97.00),
        (0.91, 0.76, 0.63, 0.53, 0.45, 0.40),
        "A fertiliser is sold under this name: take pure, not mixed. " + KEEP_AWAY,
    ),
    Salt(
        "MgCl2",
        "magnesium chloride",
        "MgCl2",
        (33.6686, -0.00797397, -0.108988e-2),
        (33.60, 33.47, 33.30, 33.07, 32.78, 32.44),
        (0.28, 0.24, 0.21, 0.18, 0.16, 0.14),
        "It draws water from the air: close the packet at once.",
    ),
    Salt(
        "K2CO3",
        "potassium carbonate",
        "K2CO3",
        (43.1315, 0.00147523),
        (43.13, 43.14, 43.15, 43.16, 43.16, 43.17),
        (0.50, 0.40, 0.40, 0.40, 0.40, 0.50),
        "It burns eyes and skin: goggles and gloves. " + KEEP_AWAY,
    ),
    Salt(
        "Mg(NO3)2",
        "magnesium nitrate",
        "Mg(NO3)2",
        (60.35, -0.298),
        (58.86, 57.36, 55.87, 54.38, 52.89, 51.40),
        (0.43, 0.33, 0.27, 0.23, 0.22, 0.24),
        "It feeds a fire: keep it from anything that burns. " + KEEP_AWAY,
    ),
    Salt(
        "NaBr",
        "sodium bromide",
        "NaBr",
        (),
        (63.51, 62.15, 60.68, 59.14, 57.57, 56.03),
        (0.72, 0.60, 0.51, 0.44, 0.40, 0.38),
        KEEP_AWAY,
    ),
    Salt(
        "KNO3",
        "potassium nitrate",
        "KNO3",
        (96.3361, 0.0112371, -0.484514e-2),
        (96.27, 95.96, 95.41, 94.62, 93.58, 92.31),
        (2.1, 1.4, 0.96, 0.66, 0.55, 0.60),
        "In a cold cave it is known less well than a good probe. It feeds a fire. " + KEEP_AWAY,
    ),
)

BY_NAME: dict[str, Salt] = {salt.name: salt for salt in SALTS}

# What a keeper is led through: table salt alone first, potassium sulphate as the second point (23 points above, both
# known within 1 %RH), potassium chloride as a check in between.
USUAL = ("NaCl", "K2SO4", "KCl")


def salt_named(name: str) -> Salt:
    """The salt of that name.

    Raises:
        ValueError: a salt that the table does not hold; lithium chloride is refused with its reason.
    """
    if name == "LiCl":
        raise ValueError("salt must not be LiCl: below 18 Cel its humidity changes for good")
    salt = BY_NAME.get(name)
    if salt is None:
        raise ValueError(f"salt must be one of {', '.join(BY_NAME)}, got {name}")
    return salt


def humidity_over_pct(salt: Salt, temperature_c: float | Values) -> Values:
    """Relative humidity over a saturated salt.

    Args:
        salt: a row of `SALTS`.
        temperature_c: of salt and air [degC], 0 to 30, scalar or array.
    Returns:
        Humidity [%RH], same shape. A NaN stays a NaN.
    Raises:
        ValueError: a temperature outside that range.
    Source: Greenspan 1977, polynomials of table 3 (sodium bromide: his table 2, between 5 K values on a straight line,
        which costs less than 0.03 %RH).
    """
    t = within("temperature_c", temperature_c, COLDEST_C, WARMEST_C, "Cel")
    if salt.polynomial:
        return np.asarray(np.polynomial.polynomial.polyval(t, salt.polynomial))
    return _on_table(t, salt.table_pct)


def uncertainty_over_pct(salt: Salt, temperature_c: float | Values) -> Values:
    """How well the humidity over a salt is known, as published, taken here as a standard uncertainty.

    Args, shape, NaN and errors as for `humidity_over_pct`.
    Returns:
        Uncertainty [%RH]; between the table's temperatures on a straight line, below 5 degC on the line before it.
    Source: Greenspan 1977, table 2. He does not say whether his figures are one or more standard deviations; one is
        the careful reading.
    """
    return _on_table(within("temperature_c", temperature_c, COLDEST_C, WARMEST_C, "Cel"), salt.uncertainty_pct)


def jar_uncertainty_pct(salt: Salt, temperature_c: float, difference_u_k: float = JAR_TEMPERATURE_U_K) -> float:
    """Standard uncertainty of the humidity at a probe in a jar made at home.

    Args:
        salt: a row of `SALTS`.
        temperature_c: measured in the jar [degC], 0 to 30.
        difference_u_k: how far probe and salt may differ in temperature, standard uncertainty [K], 0 to 5.
    Returns:
        Root of the sum of squares of the salt's own, the temperature's and the jar's uncertainty [%RH].
    Raises:
        ValueError: a temperature or a difference outside its range.
    Source: the humidity at a probe that is warmer than the salt falls by the slope of the saturation pressure, 6 to 7 %
        of itself a kelvin (Hyland and Wexler); JAR_U_PCT above.
    """
    within("difference_u_k", difference_u_k, 0.0, 5.0, "K")
    humidity = float(humidity_over_pct(salt, temperature_c))
    kelvin = np.asarray(temperature_c + KELVIN_AT_0_C)
    by_temperature = humidity * float(OVER_WATER.slope_per_k(kelvin)) * difference_u_k
    own = float(uncertainty_over_pct(salt, temperature_c))
    return float(np.sqrt(own**2 + by_temperature**2 + JAR_U_PCT**2))


def _on_table(t: Values, column: tuple[float, ...]) -> Values:
    """A column of the table at a temperature, straight between its rows and beyond the coldest."""
    slope = (column[1] - column[0]) / (TABLE_C[1] - TABLE_C[0])
    below = column[0] + slope * (t - TABLE_C[0])
    return np.asarray(np.where(t < TABLE_C[0], below, np.interp(t, TABLE_C, column)))
