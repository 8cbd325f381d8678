"""Targets as rules hold air to them: a change made on purpose is given time to take effect; pure.

A person who lowers the target from 12 to 8 degrees knows that the air is at 12. For a day the wider of the old and the
new band holds: air that is still on its way raises nothing, air that had left the old band too still does. After a
rest, or with a first target, being outside does not count for six hours.
"""

import numpy as np

from collector.readings.model import Values
from collector.rules.hourly import trailing_max
from collector.rules.model import Band
from collector.rules.spells import HOUR_STEPS, Flags

SETTLE_STEPS = 24 * HOUR_STEPS  # our choice: a fridge is there within hours, a stone cellar within a day or so
AFTER_REST_STEPS = 6 * HOUR_STEPS  # our choice: a fridge that was forgotten switched off must still be noticed


def limit_held(band: Band, sign: int) -> Values:
    """The limit on one side, the wider of those of the day before.

    Args:
        band: targets on each step.
        sign: 1 for the upper limit, -1 for the lower.
    Returns:
        Limit on each step, NaN where there is none on that step.
    """
    limit = band.high if sign > 0 else band.low
    widest = sign * trailing_max(sign * limit, SETTLE_STEPS)
    return np.where(np.isnan(limit), np.nan, widest)


def settling(limit: Values, resting: Flags) -> Flags:
    """Steps that come within six hours after a rest or after a time without a limit.

    The beginning of the record does not count as such: nothing is known of what was asked before it.
    """
    idle = resting | np.isnan(limit)
    return np.asarray(trailing_max(idle.astype(float), AFTER_REST_STEPS) > 0)
