"""What a checked humidity is good for in the cave, weeks after the check; pure."""

import numpy as np

from collector.limits import within
from collector.readings.model import Values

# Standard uncertainties [%RH]. Hysteresis: 0.8 to 1 point as a limit (SHT3x, SHT4x data sheets), even within it.
HYSTERESIS_U_PCT = 1.0 / np.sqrt(3)
# Above 80 %RH a probe gains up to about 3 points within days and loses them again in dry air (SHT20, SHT4x data
# sheets: +3 after 60 h): anything from 0 to 3, even within it. The middle is not taken off; it is part of the doubt.
DAMP_STAY_U_PCT = 3.0 / np.sqrt(12)
DAMP_FROM_PCT = 80.0
# Drift: 0.25 points a year in clean air (data sheets). Damp, ammonia and mould make it worse; 3 points a year as a
# standard deviation is common practice, no source.
DRIFT_U_PCT_A_DAY = 3.0 / 365.0
MOST_U_PCT = 10.0


def in_use_uncertainty_pct(
    checked_u_pct: float | Values, humidity_pct: float | Values, age_d: float | Values
) -> Values:
    """Standard uncertainty of a humidity that was corrected by a check some days ago.

    Args:
        checked_u_pct: of the corrected value by the check alone [%RH], 0 to 50.
        humidity_pct: at which the probe lives [%RH], 0 to 119. A NaN gives a NaN.
        age_d: days since the check, 0 and above; broadcasts with the others.
    Returns:
        Uncertainty [%RH], at most 10. Twice it is the "+-" that a person reads.
    Raises:
        ValueError: an argument outside its range.
    Source: root of the sum of squares; parts as above.
    """
    u = within("checked_u_pct", checked_u_pct, 0.0, 50.0, "%RH")
    humidity = within("humidity_pct", humidity_pct, 0.0, 119.0, "%RH")
    age = within("age_d", age_d, 0.0, 1e6, "d")
    damp = np.where(humidity > DAMP_FROM_PCT, DAMP_STAY_U_PCT, 0.0)
    square = u**2 + HYSTERESIS_U_PCT**2 + damp**2 + (DRIFT_U_PCT_A_DAY * age) ** 2
    return np.asarray(np.where(np.isnan(humidity), np.nan, np.minimum(np.sqrt(square), MOST_U_PCT)))
