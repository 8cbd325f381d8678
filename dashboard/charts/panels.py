"""The panels of a chart of air: their axes and units; pure."""

from typing import Literal

import numpy as np

from collector.readings.model import Values
from dashboard.household import Household

Panel = Literal["temperature", "humidity"]
AXES: dict[Panel, str] = {"temperature": "y", "humidity": "y2"}
LANE_AXIS = "y3"


def in_unit(value: Values, panel: Panel, household: Household) -> Values:
    """Values [degC] or [%] in the unit that the household reads."""
    return value * 1.8 + 32 if panel == "temperature" and household.temperature_unit == "F" else value


def one_in_unit(value: float, panel: Panel, household: Household) -> float:
    return round(float(in_unit(np.array([value]), panel, household)[0]), 2)


def unit_word(panel: Panel, household: Household) -> str:
    return f"°{household.temperature_unit}" if panel == "temperature" else "%"
