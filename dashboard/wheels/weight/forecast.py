"""What a wheel will weigh, with how sure that is; pure."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from collector.readings.model import Millis, Values
from dashboard.wheels.weight.exposure import Exposure
from dashboard.wheels.weight.fit import Fit, Model

CONFIDENCE = 0.90
# Our choices: drawings of less than this share of an equal part change no gram; the ends lie within so many spreads of
# every drawing; 32 halvings of a kilogram are less than a microgram.
NEGLIGIBLE, REACH_SD, HALVINGS = 1e-4, 6.0, 32


@dataclass(frozen=True, slots=True)
class Course:
    """Mass at q times [g]: middle, and the ends of the interval, shape (q,) each.

    `mean_g`, `sd_g`, `weight`: what the drawings say, shape (n, q), (n, q), (n,).
    """

    at_ms: Millis
    low_g: Values
    middle_g: Values
    high_g: Values
    mean_g: Values
    sd_g: Values
    weight: Values

    def below(self, limit_g: float) -> Values:
        """How likely the mass lies below a limit, at each time, 0 to 1."""
        return np.asarray(np.einsum("n,nq->q", self.weight, _below(limit_g, self.mean_g, self.sd_g)))


def foretold(fit: Fit, exposure: Exposure, at_ms: Millis, confidence: float = CONFIDENCE) -> Course:
    """The mass at given times in given air.

    Args:
        fit: what was learnt. exposure: the wheel's air from its first weighing over all these times: what was, and
            what came or is thought to come. at_ms: times in order within it. confidence: of the interval, 0 to 1.
    Returns:
        The course; the interval carries weighing, model, probe and covering, and the cave's weather where the exposure
        says so. It is of the wheel's mass, not of what a scale would show.
    Raises:
        ValueError: no times, or some outside the exposure.
    Source: the Gaussian of each drawing given the weighings, mixed by evidence.
    """
    if not len(at_ms) or at_ms[0] < exposure.edges_ms[0] or at_ms[-1] > exposure.edges_ms[-1]:
        raise ValueError(f"times must lie within {exposure.edges_ms[[0, -1]]} ms, got {at_ms}")
    past = fit.weighings.at_ms[fit.used]
    together = np.concatenate((past, at_ms))
    order = np.argsort(together, kind="stable")
    steps = tuple((int(fit.weighings.at_ms[one.index]), one.grams) for one in fit.odd if one.lasts)
    model = Model(fit.wheel, fit.trials, exposure, steps)
    basis = model.basis(together[order])
    mean, slope, stray = model.at(fit.theta, basis)
    back = np.argsort(order, kind="stable")
    mean, slope, stray = mean[:, back], slope[:, back], stray[:, back][:, :, back]
    cut = len(past)
    prior = slope * fit.variance[:, None, :]
    whole = stray + prior @ slope.transpose(0, 2, 1)
    shift = np.einsum("nqp,np->nq", slope[:, cut:], fit.start - fit.theta)
    cross = whole[:, cut:, :cut]
    middle = mean[:, cut:] + shift + np.einsum("nqi,ni->nq", cross, fit.solved)
    gained = np.einsum("nqi,nij,nqj->nq", cross, fit.inverse, cross)
    variance = np.einsum("nqq->nq", whole[:, cut:, cut:]) - gained
    sd = np.sqrt(np.maximum(variance, 1e-6))
    low, half, high = quantiles(_shares(confidence), middle, sd, fit.weight)
    return Course(at_ms, low, half, high, middle, sd, fit.weight)


def _shares(confidence: float) -> tuple[float, float, float]:
    return (1 - confidence) / 2, 0.5, (1 + confidence) / 2


def _below(limit_g: float | Values, mean_g: Values, sd_g: Values) -> Values:
    """Normal distribution function without scipy: error below 1.5e-7 (Abramowitz and Stegun 7.1.26)."""
    z = (limit_g - mean_g) / sd_g / np.sqrt(2)
    t = 1 / (1 + 0.3275911 * np.abs(z))
    poly = t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429))))
    tail = poly * np.exp(-z * z) / 2
    return np.asarray(np.where(z > 0, 1 - tail, tail))


def quantiles(shares: Sequence[float], mean_g: Values, sd_g: Values, weight: Values) -> Values:
    """Quantiles of a mixture of Gaussians by halving, shape (shares, q).

    Args:
        shares: each above 0 and below 1. mean_g, sd_g: shape (n, q), sd above 0. weight: shape (n,), sums to 1.
    """
    told = np.flatnonzero(weight > NEGLIGIBLE / len(weight))
    mean, sd, weight = mean_g[told], sd_g[told], weight[told] / weight[told].sum()
    wanted = np.asarray(shares)[:, None]
    low = np.broadcast_to(np.min(mean - REACH_SD * sd, axis=0), (len(shares), mean.shape[1]))
    high = np.broadcast_to(np.max(mean + REACH_SD * sd, axis=0), low.shape)
    for _ in range(HALVINGS):
        half = (low + high) / 2
        is_below = np.tensordot(_below(half[:, None, :], mean, sd), weight, axes=(1, 0)) < wanted
        low, high = np.where(is_below, half, low), np.where(is_below, high, half)
    return np.asarray((low + high) / 2)


def shown_on_scale(course: Course, sigma_g: float, confidence: float = CONFIDENCE) -> Course:
    """The same for what a scale will show, whose weighings repeat to a standard uncertainty [g], 0 or more."""
    sd = np.hypot(course.sd_g, sigma_g)
    low, middle, high = quantiles(_shares(confidence), course.mean_g, sd, course.weight)
    return replace(course, low_g=low, middle_g=middle, high_g=high, sd_g=sd)
