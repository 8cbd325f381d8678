"""What rules take and what they say; values only.

A rule judges complete ten-minute steps. It is causal and forgets: what it says of a step depends only on steps up to
`memory_ms` before it and on whether its last spell was open there. So the watch may judge any span again, from
any step on, with the spell that was open at that step carried in, and ends with what one pass over everything says.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from collector.air.model import Air
from collector.readings.model import Millis, Series, Values

Severity = Literal["note", "warn", "urgent"]


@dataclass(frozen=True, slots=True)
class Band:
    """The band of one quantity on each step, shape (n,) each; NaN where there is no target on that side."""

    low: Values
    high: Values


@dataclass(frozen=True, slots=True)
class PlaceSituation:
    """All that a place rule sees, on the grid of `air`.

    Args:
        air: the place's air; its first steps are the run-in before `judged_from_ms`.
        judged_from_ms: the first step to be judged.
        temperature_band_c, humidity_band_pct: targets on each step, NaN without one.
        grace_ms: how long air may be out of its band on each step, shape (n,).
        resting: steps in which the place rests (no target on purpose), shape (n,).
        outside: the outside air on the same grid, or None.
        raw_temperature: raw calibrated air temperature readings of the leading probe, for the cooler's cycle.
    """

    air: Air
    judged_from_ms: int
    temperature_band_c: Band
    humidity_band_pct: Band
    grace_ms: Millis
    resting: npt.NDArray[np.bool_]
    outside: Air | None = None
    raw_temperature: Series | None = None


@dataclass(frozen=True, slots=True)
class ChannelSituation:
    """All that a probe rule sees of one channel: raw calibrated readings, and its neighbours' air.

    Args:
        raw: readings in canonical units, the run-in before `judged_from_ms` included.
        judged_from_ms, judged_to_ms: the span to be judged.
        quantity: the channel's quantity.
        held_ms: how long each reading speaks, shape of raw.
        neighbours: the same quantity from other probes of the place on the ten-minute grid, by probe name.
        own: the channel itself on that grid (start_ms, mean).
        uncertainty, neighbour_uncertainty: standard uncertainty of the channel and of each neighbour, canonical unit;
            one number, or one for each step of the grid, NaN where nothing is known.
    """

    raw: Series
    judged_from_ms: int
    judged_to_ms: int
    quantity: str
    held_ms: Millis
    grid_ms: Millis
    own: Values
    neighbours: Mapping[str, Values] = field(default_factory=dict)
    uncertainty: float | Values = 0.0
    neighbour_uncertainty: Mapping[str, float | Values] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Verdict:
    """One spell in which a rule found something.

    Args:
        rule: the rule's name.
        opened_ms: when the spell began to count (the grace was over).
        cleared_ms: when it ended; None while it lasts at the end of what was judged.
        facts: plain numbers and words for the message: since when, how far, the dose, where it is heading.
    """

    rule: str
    opened_ms: int
    cleared_ms: int | None
    facts: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class PlaceRule:
    """A rule about the air of a place.

    Args:
        name: as it stands in the records; never changed once released.
        word: what a person reads.
        severity: how loud its warning is.
        memory_ms: how far back a judgement can reach.
        judge: (situation, spell open at judged_from_ms or None) -> spells, the carried one first.
        needs_raw: it looks at single readings; where those are gone, what it said stands.
    """

    name: str
    word: str
    severity: Severity
    memory_ms: int
    judge: Callable[[PlaceSituation, Verdict | None], list[Verdict]]
    needs_raw: bool = False


@dataclass(frozen=True, slots=True)
class ChannelRule:
    """A rule about a probe's channel; while its spell lasts the channel's readings are doubtful if `doubts`."""

    name: str
    word: str
    severity: Severity
    memory_ms: int
    doubts: bool
    judge: Callable[[ChannelSituation, Verdict | None], list[Verdict]]
