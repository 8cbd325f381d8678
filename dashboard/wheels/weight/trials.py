"""What may be true of a wheel and its air, drawn as many times over; pure. The same for the same prior."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from collector.readings.model import Values
from dashboard.wheels.weight.exposure import KINDS_OF_DOUBT, Exposure
from dashboard.wheels.weight.priors import RindPrior

HOW_MANY = 320
SEED = 20_260
HIGHEST_ACTIVITY = 0.998
# Our choices. Half of the spread of k and breath is drawn, the other half is learnt beside each drawing.
DRAWN = 0.7071
WANDERS, WANDERS_SPREAD = 0.12, 0.4  # by how much k strays from its form, and how sure that is
NOISE_SPREAD = 0.25
# The k of the rind that a covering's share is meant for (our choice, the middle of the plausible).
COVERED_K, LEAST_SHARE = 2.5e-9, 1e-4
COVER_SPREAD, COVER_SPREAD_BY_LOG, COVER_SPREAD_MOST = 0.30, 0.12, 0.9


@dataclass(frozen=True, slots=True)
class Trials:
    """Drawings, shape (n,) each.

    Args:
        activity: of the rind. settles_d: of k, infinite where it stays the same. breathes: whether the rind does.
        ln_k, ln_breath: where learning begins. doubts: by how many standard uncertainties the air was otherwise, by
            kind of doubt. cover: the same for how much a covering lets through. wander: how far k strays. noise: by how
            much weighings are worse than thought.
    """

    activity: Values
    settles_d: Values
    breathes: npt.NDArray[np.bool_]
    ln_k: Values
    ln_breath: Values
    doubts: Values
    cover: Values
    wander: Values
    noise: Values


def drawn(prior: RindPrior, how_many: int = HOW_MANY) -> Trials:
    """Draw from a prior; always the same for the same prior."""
    chance = np.random.default_rng(SEED)

    def spread() -> Values:
        """Standard normal, one drawing from each of as many equal parts."""
        from_each = (np.arange(how_many) + 0.5) / how_many
        return np.asarray(_normal(chance.permutation(from_each)))

    falls = chance.permutation(np.arange(how_many) < prior.falls * how_many)
    breathes = chance.permutation(np.arange(how_many) < prior.breathes * how_many)
    settles = np.exp(prior.ln_settles_d + prior.ln_settles_spread * spread())
    return Trials(
        activity=np.minimum(prior.activity + prior.activity_spread * spread(), HIGHEST_ACTIVITY),
        settles_d=np.where(falls, settles, np.inf),
        breathes=breathes,
        ln_k=prior.ln_k + DRAWN * prior.ln_k_spread * spread(),
        ln_breath=prior.ln_breath + DRAWN * prior.ln_breath_spread * spread(),
        doubts=np.stack([spread() for _ in range(KINDS_OF_DOUBT)], axis=1),
        cover=spread(),
        wander=WANDERS * np.exp(WANDERS_SPREAD * spread()),
        noise=np.exp(NOISE_SPREAD * spread()),
    )


def _normal(share: Values) -> Values:
    """Quantiles of the standard normal distribution by Newton's method on a logistic start, to 1e-9."""
    from math import erf, exp, pi, sqrt

    x = np.log(share / (1 - share)) / 1.702
    for _ in range(6):
        area = np.array([0.5 * (1 + erf(one / sqrt(2))) for one in x])
        dense = np.array([exp(-one * one / 2) / sqrt(2 * pi) for one in x])
        x = x - (area - share) / dense
    return np.asarray(x)


@dataclass(frozen=True, slots=True)
class Pulls:
    """Sums up to each of q times, for each drawing, shape (n, q): pull, saturation at the rind with the same factors
    [Pa s], and breathing time [d]."""

    pull_pa_s: Values
    full_pa_s: Values
    breathing_d: Values


def pulls(trials: Trials, exposure: Exposure, born_ms: int, at_ms: npt.NDArray[np.int64]) -> Pulls:
    """What pulled at the rind up to given times, as each drawing has it.

    Args:
        exposure: from the first weighing on. born_ms: when the rind began to dry. at_ms: times within the exposure.
    Source: our choice of forms: k over the root of 1 + age / settles, or steady.
    """
    air = exposure.vapour_pa_s + trials.doubts @ exposure.doubt_pa_s
    pull = trials.activity[:, None] * exposure.full_pa_s - np.minimum(air, exposure.full_pa_s)
    middle = (exposure.edges_ms[1:] + exposure.edges_ms[:-1]) / 2
    age_d = np.maximum(middle - born_ms, 0) / 86_400_000
    falls = 1 / np.sqrt(1 + age_d / trials.settles_d[:, None])
    opened = _lets_through(trials, exposure, falls)
    days = np.diff(exposure.edges_ms) / 86_400_000
    return Pulls(
        _up_to(exposure.edges_ms, pull * falls * opened, at_ms),
        _up_to(exposure.edges_ms, exposure.full_pa_s * falls * opened, at_ms),
        _up_to(exposure.edges_ms, days * opened * trials.breathes[:, None], at_ms),
    )


def _lets_through(trials: Trials, exposure: Exposure, falls: Values) -> Values:
    """Covering and rind are resistances in series: an old dry rind gains less by a covering than a fresh one."""
    share = np.clip(exposure.lets_through, LEAST_SHARE, 1.0)
    spread = np.minimum(COVER_SPREAD + COVER_SPREAD_BY_LOG * np.abs(np.log(share)), COVER_SPREAD_MOST)
    rind_k = np.exp(trials.ln_k)[:, None] * falls
    against = (1 - share) / (COVERED_K * share) * np.exp(-trials.cover[:, None] * spread)
    return np.asarray(1 / (1 + rind_k * against))


def _up_to(edges_ms: npt.NDArray[np.int64], each: Values, at_ms: npt.NDArray[np.int64]) -> Values:
    running = np.concatenate((np.zeros((len(each), 1)), np.cumsum(each, axis=1)), axis=1)
    bin_ = np.clip(np.searchsorted(edges_ms, at_ms, side="right") - 1, 0, len(edges_ms) - 2)
    share = np.clip((at_ms - edges_ms[bin_]) / (edges_ms[bin_ + 1] - edges_ms[bin_]), 0, 1)
    return np.asarray(running[:, bin_] + share * each[:, bin_])
