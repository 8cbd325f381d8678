"""A channel against the other probes of its place: how far apart they are over a day, and whom to believe; pure."""

from dataclasses import dataclass

import numpy as np

from collector.air.model import STEP_MS
from collector.readings.model import Values
from collector.rules.model import ChannelSituation
from collector.rules.trust.readings import Indices

DAY_STEPS = 24 * 6
LEAST_KNOWN_STEPS = DAY_STEPS // 2
HOUR_MS = 3_600_000
STAND_ASIDE = 0.6  # our choice: who is surer than another by this factor (checked against salts, say) is believed

# Standard uncertainty where none is given. Half of a plain data sheet's typical tolerance (DS18B20 0.5 K, SHT30 and
# BME280 3 %RH, BMP280 1 hPa) plus as much again for what high humidity does to a probe (our choice).
UNKNOWN_UNCERTAINTY = {"temperature": 0.3, "humidity": 2.0, "pressure": 100.0}
# What two spots of one place may truly differ by, top and bottom shelf. Common practice, no source.
PLACE_SPREAD = {"temperature": 0.7, "humidity": 2.0, "pressure": 50.0}
COVERAGE = 2.5  # our choice: two honest probes differ by more than this many joint uncertainties once in 80 times


@dataclass(frozen=True, slots=True)
class Apart:
    """How far a channel was from each neighbour over the day that ends with a step.

    Args:
        difference: median of own minus neighbour, by name; only where half a day is known.
        limit: how far they may be apart, by name.
        surer: those that are to be believed before this channel.
        less_sure: those that this channel is to be believed before.
        agreeing: whether two neighbours agree with each other.
    """

    difference: dict[str, float]
    limit: dict[str, float]
    surer: frozenset[str]
    less_sure: frozenset[str]
    agreeing: bool

    def beyond(self, share: float = 1.0) -> frozenset[str]:
        """Neighbours further away than a share of their limit."""
        return frozenset(n for n, d in self.difference.items() if abs(d) > share * self.limit[n])


def hourly_steps(start_ms: Values | Indices, first: int) -> Indices:
    """The judged steps that end on a full hour: a day's median moves too little to be taken more often."""
    ends = np.asarray(start_ms) + STEP_MS
    return np.flatnonzero((ends % HOUR_MS == 0) & (np.arange(len(ends)) >= first))


def apart_at(situation: ChannelSituation, step: int) -> Apart:
    """How far a channel and its neighbours were apart over the day that ends with a step.

    Args:
        situation: `own` and neighbours on the grid, canonical unit.
        step: index into the grid.
    Returns:
        Neighbours of which, together with the channel, less than half a day is known are not in it.
    Source: joint uncertainty as the root of the sum of squares (JCGM 100); the rest our choice, see above.
    """
    day = slice(max(0, step + 1 - DAY_STEPS), step + 1)
    own = situation.own[day]
    others = {name: course[day] for name, course in situation.neighbours.items()}
    difference = {name: m for name, course in others.items() if (m := _median(own - course)) is not None}
    u_own = uncertainty_of(situation, None, day)
    u = {name: uncertainty_of(situation, name, day) for name in difference}
    return Apart(
        difference,
        {name: limit(situation.quantity, u_own, u[name]) for name in difference},
        surer=frozenset(name for name in u if u[name] <= STAND_ASIDE * u_own),
        less_sure=frozenset(name for name in u if u_own <= STAND_ASIDE * u[name]),
        agreeing=_some_agree(situation, {name: others[name] for name in difference}, u),
    )


def is_known(situation: ChannelSituation, step: int) -> bool:
    """Whether half of the day that ends with a step is known of the channel itself."""
    day = situation.own[max(0, step + 1 - DAY_STEPS) : step + 1]
    return int(np.sum(~np.isnan(day))) >= LEAST_KNOWN_STEPS


def uncertainty_of(situation: ChannelSituation, neighbour: str | None, day: slice) -> float:
    """Standard uncertainty of a neighbour, or of the channel itself, in the canonical unit; a default if unknown.

    Where it was given step by step, its middle over the day that is compared.
    """
    said = situation.uncertainty if neighbour is None else situation.neighbour_uncertainty.get(neighbour, 0.0)
    if isinstance(said, np.ndarray):
        known = said[day][~np.isnan(said[day])]
        said = float(np.median(known)) if len(known) else 0.0
    return said if said > 0 else UNKNOWN_UNCERTAINTY[situation.quantity]


def limit(quantity: str, u_one: float, u_other: float) -> float:
    """How far two probes of one place may be apart over a day, canonical unit."""
    return float(COVERAGE * np.hypot(u_one, u_other) + PLACE_SPREAD[quantity])


def _some_agree(situation: ChannelSituation, others: dict[str, Values], u: dict[str, float]) -> bool:
    names = sorted(others)
    for i, one in enumerate(names):
        for other in names[i + 1 :]:
            apart = _median(others[one] - others[other])
            if apart is not None and abs(apart) <= limit(situation.quantity, u[one], u[other]):
                return True
    return False


def _median(difference: Values) -> float | None:
    known = difference[~np.isnan(difference)]
    return float(np.median(known)) if len(known) >= LEAST_KNOWN_STEPS else None
