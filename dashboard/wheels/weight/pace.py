"""A wheel that loses faster or slower than its kind, and why; pure."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log
from statistics import median

FASTER, SLOWER, ALIKE = "faster", "slower", ""
AIR, COVERING, NEITHER = "air", "covering", "neither"
# Our choices: what a keeper would call a difference, how many make a kind, how far apart in age two may be to be told
# against each other (the square root of it is well below the difference), and which part of it explains it.
DIFFERS = 1.5
LEAST_OTHERS, MOST_OTHERS = 2, 5
AGES_APART, AGE_FLOOR_D = 1.5, 5.0
EXPLAINS = 0.5


@dataclass(frozen=True, slots=True)
class Pace:
    """How one wheel lost over its last weeks.

    Args:
        rate_pct_d: of its start by the day. pull_pa: mean driving pressure of the air where it stood. open_share: what
            its covering lets through, 0..1. age_d: in the middle of that time.
    """

    rate_pct_d: float
    pull_pa: float
    open_share: float
    age_d: float


@dataclass(frozen=True, slots=True)
class Verdict:
    """`word`: FASTER, SLOWER or ALIKE; `reason`: AIR, COVERING, NEITHER or "". `times`: its rate over the usual one."""

    word: str = ALIKE
    reason: str = ""
    times: float = 1.0


def against_kind(own: Pace, others: Sequence[Pace]) -> Verdict:
    """Compare a wheel with others of its kind.

    Args:
        own: the wheel. others: of the same style, brought to one size; those nearest in age count.
    Returns:
        The verdict; alike when fewer than two others were ever of about its age, or one of the rates is not a loss.
    Source: our choice.
    """
    near = [
        one for one in sorted(others, key=lambda one: age_apart(own, one)) if age_apart(own, one) <= log(AGES_APART)
    ]
    near = near[:MOST_OTHERS]
    rates = [one.rate_pct_d for one in near]
    if len(near) < LEAST_OTHERS or own.rate_pct_d <= 0 or median(rates) <= 0:
        return Verdict()
    apart = log(own.rate_pct_d / median(rates))
    if abs(apart) < log(DIFFERS):
        return Verdict(times=exp(apart))
    parts = {
        COVERING: _ratio(own.open_share, median(one.open_share for one in near)),
        AIR: _ratio(own.pull_pa, median(one.pull_pa for one in near)),
    }
    reason = max(parts, key=lambda name: parts[name] / apart)
    explained = parts[reason] / apart >= EXPLAINS
    return Verdict(FASTER if apart > 0 else SLOWER, reason if explained else NEITHER, exp(apart))


def age_apart(one: Pace, other: Pace) -> float:
    """How far apart two are in age, as a logarithm; a few days are nothing."""
    return abs(log((other.age_d + AGE_FLOOR_D) / (one.age_d + AGE_FLOOR_D)))


def _ratio(own: float, usual: float) -> float:
    """Logarithm of a ratio; 0 where either says nothing."""
    return log(own / usual) if own > 0 and usual > 0 else 0.0
