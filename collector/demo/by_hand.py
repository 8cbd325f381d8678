"""Readings that the keeper of the demo takes by eye from the dial on the make room's wall."""

from dataclasses import dataclass

import numpy as np

from collector.demo.noise import generator
from collector.demo.openings import MINUTE_MS
from collector.demo.weather import DAY_MS, HOUR_MS

DIAL = "dial on the wall"
# Dials are read to half a degree and to a whole percent; this one shows a little too warm and too dry.
DIAL_OFF_K, DIAL_OFF_PCT = 0.6, -4.0
DIAL_NOISE_K, DIAL_NOISE_PCT = 0.2, 1.0
# Before the round at 8, on which the wheels move on.
FROM_HOUR_UTC = 7.5
WITHIN_MIN = 25


@dataclass(frozen=True, slots=True)
class HandReading:
    """One look at an instrument, as typed: [ms since 1970, UTC], [degC], [%]."""

    at_ms: int
    place: str
    instrument: str
    temperature_c: float
    humidity_pct: float


def looked_at_ms(seed: int, day: int) -> int:
    """When the keeper looks at the dial on a UTC day [ms since 1970, UTC], on a whole minute."""
    minutes = int(generator(seed, "dial/when", day).integers(0, WITHIN_MIN))
    return day * DAY_MS + round(FROM_HOUR_UTC * HOUR_MS) + minutes * MINUTE_MS


def read_dial(seed: int, place: str, at_ms: int, temperature_c: float, humidity_pct: float) -> HandReading:
    """What the keeper types.

    Args:
        seed: the world's seed, 0 to 2**64 - 1.
        place: where the dial hangs.
        at_ms: when [ms since 1970, UTC].
        temperature_c: the true air temperature [degC].
        humidity_pct: its true relative humidity [%].
    Returns:
        The reading, to half a degree and a whole percent.
    Raises:
        ValueError: a seed outside its range.
    """
    warm, humid = generator(seed, "dial/error", at_ms // DAY_MS).standard_normal(2).tolist()
    shown_c = temperature_c + DIAL_OFF_K + DIAL_NOISE_K * warm
    shown_pct = humidity_pct + DIAL_OFF_PCT + DIAL_NOISE_PCT * humid
    return HandReading(
        at_ms=at_ms,
        place=place,
        instrument=DIAL,
        temperature_c=float(np.rint(2 * shown_c) / 2),
        humidity_pct=float(min(max(np.rint(shown_pct), 0.0), 100.0)),
    )
