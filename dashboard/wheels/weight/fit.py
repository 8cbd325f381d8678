"""Learning how easily one wheel gives off water, from its weighings and the air where it stood; pure.

mass(t) = start - area * exp(ln k) * pull(t) - area * exp(ln breath) * time, where pull is the sum of the driving
pressure with what coverings let through and, where k falls with age, its root. What weighings say little about (the
rind's water activity, how the probe is off, which form holds) is drawn many times over; beside each drawing start, k
and breath are learnt as a Gaussian in logarithms, and each drawing weighs as much as it explains the weighings (its
evidence). k may stray from its form for weeks, which is what makes an interval grow with the days ahead.
"""

from dataclasses import dataclass

import numpy as np

from collector.readings.model import Millis, Values
from dashboard.wheels.weight.exposure import Exposure
from dashboard.wheels.weight.outliers import Odd, odd_weighings
from dashboard.wheels.weight.priors import RindPrior
from dashboard.wheels.weight.trials import Trials, drawn, pulls

# Our choices. Two weighings of one wheel lie apart by this share; washing leaves this much on it.
REPEATS_SHARE = 0.0008
WET_SHARE, WET_SPREAD = 0.004, 0.002
STRAYS_FOR_D = 50.0
CREEPS = 0.006  # of the humidity: what the rind's activity and the probe wander apart in months
GUESSED_CREEPS = 0.02  # more where nobody measured: a guess knows no season and no spell
LEARNING_STEPS = 7
FEW = 4  # with fewer weighings only a plain line is drawn
STEP_SPREAD = 0.4
UNFIT = 3.5
DAY_MS = 86_400_000


@dataclass(frozen=True, slots=True)
class Weighings:
    """Weighings of one wheel from its start on, shape (n,) each.

    Args:
        at_ms: in order. weight_g: net, what was taken out or put on already reckoned in. step_g: of the scale.
        wet: known to be wet.
    """

    at_ms: Millis
    weight_g: Values
    step_g: Values
    wet: np.ndarray[tuple[int, ...], np.dtype[np.bool_]]

    def __len__(self) -> int:
        return len(self.at_ms)

    @property
    def dry_g(self) -> Values:
        """As if all had been dry."""
        return np.asarray(np.where(self.wet, self.weight_g / (1 + WET_SHARE), self.weight_g))

    @property
    def sigma_g(self) -> Values:
        """Standard uncertainty of each [g]."""
        clings = np.where(self.wet, WET_SPREAD * self.weight_g, 0.0)
        return np.asarray(np.sqrt(self.step_g**2 / 12 + (REPEATS_SHARE * self.weight_g) ** 2 + clings**2))


@dataclass(frozen=True, slots=True)
class Wheel:
    """What a fit needs to know of a wheel beside its weighings.

    Args:
        area_m2: open area. born_ms: when its rind began to dry: out of the press, or its cut.
        prior: of its kind of rind. tares_g: of the household's boards.
    """

    area_m2: float
    born_ms: int
    prior: RindPrior
    tares_g: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Fit:
    """What was learnt; arrays go over the drawings.

    Args:
        trials, weight: the drawings, and how much each counts (sums to 1). theta: start [g], ln k, ln breath and the
            steps, shape (n, p). spread: prior variance of theta. start: prior mean of theta.
        used: numbers of the weighings that were learnt from. odd: those left out, and steps.
    """

    wheel: Wheel
    weighings: Weighings
    exposure: Exposure
    trials: Trials
    weight: Values
    theta: Values
    start: Values
    variance: Values
    solved: Values
    inverse: Values
    used: Millis
    odd: tuple[Odd, ...]

    @property
    def is_plain(self) -> bool:
        """Whether there are too few weighings for more than a plain line."""
        return len(self.used) < FEW

    @property
    def form(self) -> str:
        """The form that the weighings favour: falling, steady, or either with breath ("breathing")."""
        falls = np.isfinite(self.trials.settles_d)
        breath = self.trials.breathes
        kinds = {"falling": falls & ~breath, "steady": ~falls & ~breath, "breathing": breath}
        return max(kinds, key=lambda name: float(np.sum(self.weight[kinds[name]])))

    @property
    def k(self) -> float:
        """Median k of the fresh bare rind [kg m-2 s-1 Pa-1]."""
        return float(np.exp(weighted_quantile(self.theta[:, 1], self.weight, 0.5)))

    @property
    def activity(self) -> float:
        """Mean water activity of the rind."""
        return float(np.sum(self.weight * self.trials.activity))


def weighted_quantile(values: Values, weight: Values, share: float) -> float:
    """The value below which a share of the weight lies; values and weights shape (n,), share 0 to 1."""
    order = np.argsort(values)
    return float(np.interp(share, np.cumsum(weight[order]) - weight[order] / 2, values[order]))


def fitted(wheel: Wheel, weighings: Weighings, exposure: Exposure) -> Fit:
    """Learn from all weighings that fit.

    Args:
        weighings: at least one. exposure: of the wheel from its first weighing on, at least up to its last.
    Returns:
        The fit; `Fit.odd` names what was left out or taken as a step.
    Raises:
        ValueError: no weighing, or an exposure that begins after the first or ends before the last.
    Source: Gaussian in logarithms about the best value (Laplace), drawings weighted by evidence; our choice.
    """
    _check(weighings, exposure)
    trials = drawn(wheel.prior)
    sums = pulls(trials, exposure, wheel.born_ms, weighings.at_ms)
    usual = np.median(sums.pull_pa_s, axis=0)
    odd = odd_weighings(weighings.dry_g, usual, weighings.sigma_g, wheel.tares_g)
    fit = _learnt(wheel, weighings, exposure, trials, odd)
    unfit = _worst(fit)
    for _ in range(2):
        if unfit is None:
            break
        odd = tuple(sorted((*odd, unfit), key=lambda one: one.index))
        fit = _learnt(wheel, weighings, exposure, trials, odd)
        unfit = _worst(fit)
    return fit


def _check(weighings: Weighings, exposure: Exposure) -> None:
    if not len(weighings):
        raise ValueError("weighings must hold at least one")
    first, last = int(weighings.at_ms[0]), int(weighings.at_ms[-1])
    if exposure.edges_ms[0] > first or exposure.edges_ms[-1] < last:
        raise ValueError(f"the exposure must reach from {first} to {last} ms, got {exposure.edges_ms[[0, -1]]}")


def _worst(fit: Fit) -> Odd | None:
    """The weighing that the others foretell worst, where it lies too far off."""
    if len(fit.used) <= FEW:
        return None
    best = int(np.argmax(fit.weight))
    own = np.diagonal(fit.inverse[best])
    off_g, spread_g = fit.solved[best] / own, 1 / np.sqrt(own)
    score = np.abs(off_g) / spread_g
    score[0] = 0.0
    worst = int(np.argmax(score))
    if score[worst] <= UNFIT:
        return None
    index, grams = int(fit.used[worst]), float(off_g[worst])
    share = grams / fit.weighings.weight_g[index]
    kind = "misread" if grams < 0 else "wet" if share <= 0.02 else "board"
    return Odd(index, kind, grams)


def _learnt(wheel: Wheel, weighings: Weighings, exposure: Exposure, trials: Trials, odd: tuple[Odd, ...]) -> Fit:
    steps = [one for one in odd if one.lasts]
    left_out = {one.index for one in odd if not one.lasts}
    used = np.array([number for number in range(len(weighings)) if number not in left_out], dtype=np.int64)
    at_ms, y = weighings.at_ms[used], weighings.dry_g[used]
    model = Model(wheel, trials, exposure, tuple((int(weighings.at_ms[s.index]), s.grams) for s in steps))
    start, variance = model.prior(float(y[0]))
    theta = start.copy()
    noise = (weighings.sigma_g[used] * trials.noise[:, None]) ** 2
    basis = model.basis(at_ms)
    for _ in range(LEARNING_STEPS):
        mean, slope, stray = model.at(theta, basis)
        cover = stray + slope @ (variance[:, :, None] * slope.transpose(0, 2, 1))
        cover[:, np.arange(len(y)), np.arange(len(y))] += noise
        rest = y - mean + np.einsum("nqp,np->nq", slope, theta - start)
        inverse = np.asarray(np.linalg.inv(cover), dtype=np.float64)
        solved = np.einsum("nij,nj->ni", inverse, rest)
        wanted = start + variance * np.einsum("nqp,nq->np", slope, solved)
        limit = np.full(theta.shape[1], 0.8)
        limit[[0, *range(3, theta.shape[1])]] = np.inf
        theta = theta + np.clip(wanted - theta, -limit, limit)
    log_evidence = -0.5 * (np.einsum("ni,ni->n", rest, solved) + np.linalg.slogdet(cover)[1])
    weight = np.exp(log_evidence - np.max(log_evidence))
    return Fit(
        wheel,
        weighings,
        exposure,
        trials,
        np.asarray(weight / weight.sum()),
        theta,
        start,
        variance,
        solved,
        inverse,
        used,
        odd,
    )


@dataclass(frozen=True, slots=True)
class Basis:
    """What the mass at q times is made of, for each drawing.

    Args:
        pull, full: grams for each unit of k, shape (n, q). breath: for each g m-2 d-1. steps: which
            came before, shape (q, s).
    """

    at_ms: Millis
    pull: Values
    full: Values
    breath: Values
    steps: Values


@dataclass(frozen=True, slots=True)
class Model:
    """Mass of one wheel as a function of what is to be learnt. `steps`: when something was taken out [ms], grams."""

    wheel: Wheel
    trials: Trials
    exposure: Exposure
    steps: tuple[tuple[int, float], ...] = ()

    def prior(self, first_g: float) -> tuple[Values, Values]:
        """Mean of theta, shape (n, p), and its variance."""
        prior, trials = self.wheel.prior, self.trials
        width = 3 + len(self.steps)
        mean, variance = np.zeros((len(trials.ln_k), width)), np.zeros((len(trials.ln_k), width))
        mean[:, 0], variance[:, 0] = first_g, (0.02 * first_g) ** 2
        mean[:, 1], variance[:, 1] = trials.ln_k, prior.ln_k_spread**2 / 2
        mean[:, 2], variance[:, 2] = trials.ln_breath, prior.ln_breath_spread**2 / 2
        for number, (_, grams) in enumerate(self.steps, 3):
            mean[:, number], variance[:, number] = grams, (STEP_SPREAD * grams) ** 2
        return mean, variance

    def basis(self, at_ms: Millis) -> Basis:
        """Everything about these times that does not depend on theta."""
        sums = pulls(self.trials, self.exposure, self.wheel.born_ms, at_ms)
        after = np.array([[at >= step_ms for step_ms, _ in self.steps] for at in at_ms], dtype=float)
        grams = 1000 * self.wheel.area_m2
        return Basis(
            at_ms,
            grams * sums.pull_pa_s,
            grams * sums.full_pa_s,
            self.wheel.area_m2 * sums.breathing_d,
            after.reshape(len(at_ms), -1),
        )

    def at(self, theta: Values, basis: Basis) -> tuple[Values, Values, Values]:
        """Mean mass [g] (n, q), its slope by theta (n, q, p), and the covariance of k's straying [g2] (n, q, q)."""
        evaporated = np.exp(theta[:, 1:2]) * basis.pull
        breathed = np.exp(theta[:, 2:3]) * basis.breath
        mean = theta[:, :1] - evaporated - breathed + theta[:, 3:] @ basis.steps.T
        slope = np.empty((*mean.shape, theta.shape[1]))
        slope[:, :, 0], slope[:, :, 1], slope[:, :, 2] = 1.0, -evaporated, -breathed
        slope[:, :, 3:] = basis.steps
        stray = strayed(basis.at_ms, evaporated + breathed, self.trials.wander)
        # Near its own damp a wheel hardly loses, and yet rind and probe creep: of what the air could take, this share.
        share = CREEPS + GUESSED_CREEPS * self.exposure.guessed_share
        creeps = strayed(basis.at_ms, np.exp(theta[:, 1:2]) * basis.full, np.full(len(theta), share))
        return mean, slope, stray + creeps


def strayed(at_ms: Millis, lost_g: Values, wander: Values) -> Values:
    """Covariance of the mass where k strays from its form, for a while at a time.

    Args:
        at_ms: times in order, shape (q,). lost_g: lost up to each, shape (n, q). wander: how far, shape (n,).
    Returns:
        [g2], shape (n, q, q).
    Source: a first-order process in the rate, summed between the times; our choice.
    """
    each = np.diff(lost_g, axis=1, prepend=lost_g[:, :1] * 0)
    middle = np.concatenate((at_ms[:1], (at_ms[1:] + at_ms[:-1]) / 2)) / DAY_MS
    alike = np.exp(-np.abs(middle[:, None] - middle[None, :]) / STRAYS_FOR_D)
    parts = wander[:, None, None] ** 2 * each[:, :, None] * alike * each[:, None, :]
    return np.asarray(np.cumsum(np.cumsum(parts, axis=1), axis=2))
