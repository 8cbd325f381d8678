"""What pulled at a wheel's rind: the driving pressure of the air where it stood, summed over time; pure.

The sums are kept apart as what saturation at the rind gives and what the air's vapour takes, so that any water activity
can be asked afterwards. They are derived from ten-minute means and added up, never from longer means: in a fridge whose
cooler cycles those come out 5 to 24 % too small.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from collector.air.model import STEP_MS, Air, Origin
from collector.moist_air import saturation_pressure_pa
from collector.readings.model import Millis, Values
from dashboard.wheels.kinds.coverings import BARE, COVERINGS
from dashboard.wheels.weight.flux import cooling_factor

DAY_MS = 86_400_000
GUESSED, TO_COME, MEASURED = 0, 1, 2
"""Kinds of doubt: a guess in place of a probe, what the weather of a cave will bring, and from here on the probes of up
to four homes, each off in its own way."""
HOMES = 4
KINDS_OF_DOUBT = MEASURED + HOMES
# Our choice for the rind's own cooling; the error of a k that is half or twice that is under 2 % from 8 to 16 degC.
USUAL_K = 3e-9
# Our choices for times nobody measured, wide: a cellar is 8 to 15 degC and 75 to 95 %.
NOTHING_KNOWN_C, NOTHING_KNOWN_PCT, NOTHING_KNOWN_U_PCT = 12.0, 86.0, 8.0
FILLED_U_PCT = 5.0


@dataclass(frozen=True, slots=True)
class Under:
    """A covering from one time on [ms]; `coats` as it was laid on."""

    from_ms: int
    covering: str = BARE
    coats: int = 1

    @property
    def lets_through(self) -> float:
        """Share of a bare rind's loss; a covering that nobody described lets half through."""
        row = COVERINGS.get(self.covering)
        return row.lets_through(self.coats) if row else 0.5


@dataclass(frozen=True, slots=True)
class Home:
    """The place of a wheel from a time on [ms], by a number; two homes of one number share their probe's error."""

    from_ms: int
    number: int


@dataclass(frozen=True, slots=True)
class Exposure:
    """Sums of a wheel's air, bin by bin.

    Args:
        edges_ms: shape (m + 1,), rising. full_pa_s: saturation pressure at the rind [Pa s], shape (m,).
        vapour_pa_s: vapour pressure of the air [Pa s]. doubt_pa_s: what one standard uncertainty of the humidity makes
            of it, by kind of doubt, shape (KINDS_OF_DOUBT, m).
        lets_through: nominal share of the covering, shape (m,).
        known: share of the time that readings spoke for, shape (m,).
    """

    edges_ms: Millis
    full_pa_s: Values
    vapour_pa_s: Values
    doubt_pa_s: Values
    lets_through: Values
    known: Values

    def __len__(self) -> int:
        return len(self.full_pa_s)

    @property
    def known_share(self) -> float:
        """Share of the whole time that readings spoke for, 0 to 1; 0 for no time."""
        spans = np.diff(self.edges_ms)
        return float(np.sum(self.known * spans) / np.sum(spans)) if len(self) else 0.0

    @property
    def guessed_share(self) -> float:
        """Share of the doubt about the air's past that is a guess in place of a probe, 0 to 1."""
        guess, probes = float(self.doubt_pa_s[GUESSED].sum()), float(self.doubt_pa_s[MEASURED:].sum())
        return guess / (guess + probes) if guess + probes > 0 else 0.0

    def mean_pull_pa(self, activity: float) -> float:
        """Mean driving pressure at a water activity [Pa], coverings aside; NaN for no time."""
        seconds = float(self.edges_ms[-1] - self.edges_ms[0]) / 1000 if len(self) else np.nan
        return float(np.sum(activity * self.full_pa_s - self.vapour_pa_s)) / seconds

    def then(self, later: "Exposure") -> "Exposure":
        """This and what comes after it.

        Raises:
            ValueError: the later does not begin where this ends.
        """
        if self.edges_ms[-1] != later.edges_ms[0]:
            raise ValueError(f"the later must begin at {self.edges_ms[-1]} ms, got {later.edges_ms[0]}")
        joined = (
            np.concatenate((getattr(self, name), getattr(later, name)), axis=-1)
            for name in ("full_pa_s", "vapour_pa_s", "doubt_pa_s", "lets_through", "known")
        )
        return Exposure(np.concatenate((self.edges_ms, later.edges_ms[1:])), *joined)

    def under(self, covers: Sequence[Under]) -> "Exposure":
        """The same air under other coverings; a bin counts as what covers it at its beginning."""
        return replace(self, lets_through=lets_through(self.edges_ms, covers))


def exposed(air: Air, covers: Sequence[Under], from_ms: int, to_ms: int, homes: Sequence[Home] = ()) -> Exposure:
    """Sum the air around a wheel by the day, cut where its covering changed.

    Args:
        air: of where it stood, ten-minute steps that reach over the whole time; steps outside it are unknown.
        covers: coverings in order of time; bare before the first.
        from_ms, to_ms: the time [ms since 1970 UTC], from below to.
        homes: places in order of time, so that each probe is off by its own error; one and the same by default.
    Returns:
        The sums. An unknown step counts as the mean of the known ones with a wide uncertainty, never as nothing.
    Raises:
        ValueError: a time that does not go forward.
    Source: our choice, see `exposure.py`; standard uncertainties of the humidity come with the air.
    """
    if to_ms <= from_ms:
        raise ValueError(f"to_ms must be after from_ms {from_ms}, got {to_ms}")
    steps = _steps(air, from_ms, to_ms)
    edges = edges_of(from_ms, to_ms, covers)
    at = np.concatenate((steps.start_ms, [steps.start_ms[-1] + STEP_MS]))

    def summed(rate: Values) -> Values:
        running = np.concatenate(([0.0], np.cumsum(rate))) * (STEP_MS / 1000)
        return np.asarray(np.diff(np.interp(edges, at, running)))

    kind = np.where(steps.guessed, GUESSED, MEASURED + _home_numbers(steps.start_ms, homes))
    doubt = np.array([summed(steps.doubt_pa * (kind == number)) for number in range(KINDS_OF_DOUBT)])
    known = summed(steps.known) / (np.diff(edges) / 1000)
    full, vapour = summed(steps.full_pa), summed(steps.vapour_pa)
    return Exposure(edges, full, vapour, doubt, lets_through(edges, covers), known)


def edges_of(from_ms: int, to_ms: int, covers: Sequence[Under]) -> Millis:
    """Edges of daily bins from one time to another [ms], cut where a covering changes."""
    cuts = {cover.from_ms for cover in covers if from_ms < cover.from_ms < to_ms}
    return np.array(sorted({from_ms, to_ms, *range(from_ms + DAY_MS, to_ms, DAY_MS), *cuts}), dtype=np.int64)


def lets_through(edges_ms: Millis, covers: Sequence[Under]) -> Values:
    """What the coverings let through, 0 to 1, in each bin between edges; bare before the first covering."""
    share = np.ones(len(edges_ms) - 1)
    for cover in covers:
        share[edges_ms[:-1] >= cover.from_ms] = cover.lets_through
    return share


def _home_numbers(start_ms: Millis, homes: Sequence[Home]) -> Millis:
    numbers = np.zeros(len(start_ms), dtype=np.int64)
    for home in homes:
        numbers[start_ms >= home.from_ms] = home.number % HOMES
    return numbers


@dataclass(frozen=True, slots=True)
class _Steps:
    start_ms: Millis
    full_pa: Values
    vapour_pa: Values
    doubt_pa: Values
    guessed: npt.NDArray[np.bool_]
    known: Values


def _steps(air: Air, from_ms: int, to_ms: int) -> _Steps:
    grid = np.arange(from_ms // STEP_MS * STEP_MS, to_ms, STEP_MS, dtype=np.int64)
    place = (grid - air.start_ms[0]) // STEP_MS if len(air) else np.full(len(grid), -1)
    inside = (place >= 0) & (place < len(air))
    rows = np.clip(place, 0, max(len(air) - 1, 0)).astype(np.int64)

    def of(values: Values) -> Values:
        return np.where(inside, values[rows], np.nan) if len(air) else np.full(len(grid), np.nan)

    warm, damp = of(air.temperature_c.mean), of(air.humidity_pct.mean)
    unknown = np.isnan(warm) | np.isnan(damp)
    origin = np.where(unknown, float(Origin.UNKNOWN), of(air.humidity_pct.origin.astype(float)))
    u_pct = np.where(unknown, _filled_u_pct(damp), np.nan_to_num(of(air.humidity_pct.uncertainty), nan=FILLED_U_PCT))
    warm, damp = _filled(warm, NOTHING_KNOWN_C), np.clip(_filled(damp, NOTHING_KNOWN_PCT), 0.01, 100.0)
    full = saturation_pressure_pa(warm)
    # The factor of the rind's cooling, against that at 12 degC, so that k means the same at every temperature.
    factor = cooling_factor(warm, USUAL_K) / cooling_factor(12.0, USUAL_K)
    guessed = origin > Origin.TYPED
    known = np.where(origin <= Origin.PARENT, of(air.humidity_pct.known), 0.0)
    return _Steps(
        grid, factor * full, factor * full * damp / 100, factor * full * u_pct / 100, guessed, np.nan_to_num(known)
    )


def _filled(values: Values, nothing_known: float) -> Values:
    gone = np.isnan(values)
    return np.where(gone, nothing_known if gone.all() else np.mean(values[~gone]), values)


def _filled_u_pct(damp: Values) -> float:
    """How far a mean that stands in for unknown time may be off: wider where the known time itself varied."""
    known = damp[~np.isnan(damp)]
    return NOTHING_KNOWN_U_PCT if len(known) == 0 else float(np.hypot(FILLED_U_PCT, np.std(known)))
