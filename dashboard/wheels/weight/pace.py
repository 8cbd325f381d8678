"""A wheel that loses faster or slower than its kind, and why; pure."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log
from statistics import median

FASTER, SLOWER, ALIKE = "faster", "slower", ""
AIR, COVERING, NEITHER = "air", "covering", "neither"
# Our choices: what a keeper would call a difference, how many make a kind, and which part of it explains it.
DIFFERS = 1.4
LEAST_OTHERS = 2
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
        own: the wheel. others: of the same style and about the same size, at any age; those nearest in age count.
    Returns:
        The verdict; alike when there are fewer than two others, or one of the rates is not a loss.
    Source: our choice. Each rate is brought to the wheel's age by the root of time before it is compared.
    """
    near = sorted(others, key=lambda one: abs(log((one.age_d + 5) / (own.age_d + 5))))[:5]
    rates = [one.rate_pct_d * ((one.age_d + 5) / (own.age_d + 5)) ** 0.5 for one in near]
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


def _ratio(own: float, usual: float) -> float:
    """Logarithm of a ratio; 0 where either says nothing."""
    return log(own / usual) if own > 0 and usual > 0 else 0.0
