"""Readings that no air can have: set aside one by one, on reading, right after calibration; pure.

This is the only place where a humidity above 100 % is cut back. What is set aside here is never shown to a rule as
air; whether a probe does it so often that it is not to be believed at all is for the rule in impossible.py.
"""

import numpy as np
import numpy.typing as npt

from collector.quantities import QUANTITIES
from collector.readings.model import Values

Flags = npt.NDArray[np.bool_]

SATURATED_PCT = 100.0
# Above 100 % by no more than what a good probe and a fair calibration may be off: cut back and marked. Our choice;
# the typical tolerance of SHT30 and BME280 is 3 points (data sheets).
HIGHEST_CREDIBLE_PCT = 103.0
# A humidity of 0 % or less is what an SHT3x (0) or SHT4x (-6) makes of a raw zero (data sheets): a broken line.
LOWEST_CREDIBLE_PCT = 0.0

# Numbers that stand for "no measurement", with how far a calibration may have moved them: a DS18B20 says 85 after
# power-on until its first conversion (data sheet), an SHT3x or SHT4x says -45 for a raw zero (data sheets). The
# DS18B20 library's -127, and -200, -999, 998 and 255, are beyond the limits of their quantities anyway.
FAULT_NUMBERS_C = (85.0, -45.0)
FAULT_SLACK_K = 2.0

TEMPERATURES = ("temperature", "surface_temperature")


def clean_humidity(values: Values) -> tuple[Values, Flags]:
    """Calibrated humidities as air can have them, and which of them are doubtful.

    Args:
        values: calibrated relative humidity [%RH], any shape; NaN is a gap.
    Returns:
        (humidity [%RH] above 0 and at most 100, or NaN; doubtful), both of that shape. A value from above 100 to
        103 is cut back to 100, marked doubtful, and may be used. A value above 103, or at 0 and below, becomes a
        NaN and is marked doubtful. A gap stays a NaN and is not doubtful.
    Source: our choice, see HIGHEST_CREDIBLE_PCT.
    """
    values = np.asarray(values, dtype=np.float64)
    away = impossible("humidity", values)
    cleaned = np.where(away, np.nan, np.minimum(values, SATURATED_PCT))
    return cleaned, away | (values > SATURATED_PCT)


def impossible(quantity: str, values: Values) -> Flags:
    """Which values cannot be what they claim to be, each judged alone.

    Args:
        quantity: a name of `collector.quantities.QUANTITIES`.
        values: calibrated, in its canonical unit, any shape; NaN is a gap and never impossible.
    Returns:
        True where the value lies beyond the limits of its quantity, is a fault number of its sensor, or is a
        humidity at 0 % and below or above 103 %.
    Raises:
        ValueError: a quantity that the table does not hold.
    Source: limits of collector/quantities.py; FAULT_NUMBERS_C and HIGHEST_CREDIBLE_PCT above.
    """
    values = np.asarray(values, dtype=np.float64)
    lowest, highest = limits(quantity)
    wrong = (values < lowest) | (values > highest)
    if quantity == "humidity":
        wrong |= values <= LOWEST_CREDIBLE_PCT
    if quantity in TEMPERATURES:
        for number in FAULT_NUMBERS_C:
            wrong |= np.abs(values - number) <= FAULT_SLACK_K
    return np.asarray(wrong)


def limits(quantity: str) -> tuple[float, float]:
    """The lowest and highest value of a quantity that a reading may have, in its canonical unit.

    Raises:
        ValueError: a quantity that the table does not hold.
    """
    row = QUANTITIES.get(quantity)
    if row is None:
        raise ValueError(f"quantity must be one of {', '.join(QUANTITIES)}, got {quantity}")
    if quantity == "humidity":
        return LOWEST_CREDIBLE_PCT, HIGHEST_CREDIBLE_PCT
    return row.lowest, row.highest
