"""The air that is thought to come, with how far it may come out otherwise; pure."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from collector.moist_air import saturation_pressure_pa
from dashboard.wheels.weight.exposure import (
    DAY_MS,
    GUESSED,
    HOMES,
    KINDS_OF_DOUBT,
    MEASURED,
    TO_COME,
    USUAL_K,
    Exposure,
    Under,
    edges_of,
    lets_through,
)
from dashboard.wheels.weight.flux import cooling_factor

# Our choices: by how much the mean humidity of a cave differs from one long stretch to the next, where its record is
# too short to tell, and how many stretches tell.
USUAL_SPREAD_PCT = 2.5
LEAST_STRETCHES = 3


@dataclass(frozen=True, slots=True)
class Doubt:
    """How far the humidity to come may be off [points], standard uncertainties.

    Args:
        spread_pct: the mean of the time to come against what is thought. probe_pct: the probe that the cave is kept by;
            home: its number, None where there is only a guess.
    """

    spread_pct: float = USUAL_SPREAD_PCT
    probe_pct: float = 0.0
    home: int | None = None

    def by_kind(
        self, full_pa_s: np.ndarray[tuple[int, ...], np.dtype[np.float64]]
    ) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
        """As an exposure carries it, shape (kinds, m)."""
        doubt = np.zeros((KINDS_OF_DOUBT, len(full_pa_s)))
        doubt[TO_COME] = full_pa_s * self.spread_pct / 100
        doubt[GUESSED if self.home is None else MEASURED + self.home % HOMES] = full_pa_s * self.probe_pct / 100
        return doubt


def steady(
    temperature_c: float, humidity_pct: float, doubt: Doubt, span_ms: tuple[int, int], covers: Sequence[Under] = ()
) -> Exposure:
    """The sums of air that stays the same, such as a target.

    Args:
        temperature_c: [degC], -40 to 60. humidity_pct: [%], above 0 to 100. doubt: of that humidity. span_ms: from, to.
        covers: coverings in order of time.
    Raises:
        ValueError: values out of their range.
    Source: as `exposure.exposed`.
    """
    if not 0 < humidity_pct <= 100:
        raise ValueError(f"humidity_pct must be above 0 and at most 100, got {humidity_pct:g}")
    factor = float(cooling_factor(temperature_c, USUAL_K) / cooling_factor(12.0, USUAL_K))
    full_pa = factor * float(saturation_pressure_pa(temperature_c))
    return _going_on(full_pa, full_pa * humidity_pct / 100, doubt, span_ms, covers)


def repeated(past: Exposure, doubt: Doubt, span_ms: tuple[int, int], covers: Sequence[Under] = ()) -> Exposure:
    """Air that goes on as it was, such as that of the last month; means of the pressures, derived before averaging.

    Args:
        past: of the place, at least one bin. The rest as `steady`.
    """
    seconds = float(past.edges_ms[-1] - past.edges_ms[0]) / 1000
    rates = float(np.sum(past.full_pa_s)) / seconds, float(np.sum(past.vapour_pa_s)) / seconds
    return _going_on(*rates, doubt, span_ms, covers)


def _going_on(
    full_pa: float, vapour_pa: float, doubt: Doubt, span_ms: tuple[int, int], covers: Sequence[Under]
) -> Exposure:
    edges = edges_of(*span_ms, covers)
    seconds = np.diff(edges) / 1000
    full = full_pa * seconds
    return Exposure(edges, full, vapour_pa * seconds, doubt.by_kind(full), lets_through(edges, covers), 0 * full)


def spread_pct(record: Exposure, days: float) -> float:
    """By how much the mean humidity of past stretches as long as the time to come differed [points].

    Args:
        record: of the place, daily bins; bins of which less than half is known are left out. days: above 0.
    Returns:
        Standard deviation of the means of stretches that do not overlap, at least 0.5; our usual spread where the
        record holds fewer than three of them.
    Source: our choice, in place of a model of the weather.
    """
    known = record.known > 0.5
    if not known.any():
        return USUAL_SPREAD_PCT
    number = ((record.edges_ms[:-1] - record.edges_ms[0]) / (days * DAY_MS)).astype(int)
    full, vapour = record.full_pa_s * known, record.vapour_pa_s * known
    means = [
        100 * float(np.sum(vapour[number == one]) / np.sum(full[number == one]))
        for one in np.unique(number)
        if np.count_nonzero(known & (number == one)) >= 0.6 * days
    ]
    if len(means) < LEAST_STRETCHES:
        return USUAL_SPREAD_PCT
    return max(float(np.std(means, ddof=1)), 0.5)
