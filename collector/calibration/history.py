"""Which check of a probe holds; a sensor that was changed has none until it is checked again; pure."""

from collections.abc import Sequence
from datetime import datetime

from collector.records.facts import Calibration, holding

NEW_SENSOR = "new_sensor"  # a method: the sensor was changed on that date, so earlier checks no longer hold


def last_check(ordered: Sequence[Calibration], at: datetime) -> Calibration | None:
    """The check that holds at a time.

    Args:
        ordered: the calibrations of one field, as `collector.records.facts.as_of` orders them.
        at: aware.
    Returns:
        None when the field was never checked, or not since its sensor was changed.
    """
    found = holding(ordered, at)
    return None if found is None or found.method == NEW_SENSOR else found


def sensor_changed(
    calibration_id: str, probe: str, field: str, from_at: datetime, known_at: datetime, uncertainty: float, by: str
) -> Calibration:
    """The fact that a field has a new sensor from a time on: as read, with the uncertainty of an unchecked one."""
    return Calibration(
        calibration_id, from_at, known_at, probe, field, 0.0, 1.0, uncertainty, NEW_SENSOR, by=by
    )  # fmt: skip
