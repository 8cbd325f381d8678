"""Is a weighing possible after the last one? A plain rule with a reason; pure.

Limits are our choice, wider than anything published: an unwrapped Camembert lost 15 % in 23 days at 6 degC and 75 %
humidity (Picque et al. 2011, doi 10.3168/jds.2010-3373), a farm cheese 6.3 % in its first four weeks; a small fresh
lactic cheese may drain some percent in a day. A wheel takes up water in air damper than its rind, but little of it.
"""

from dataclasses import dataclass

WET_GAIN_PCT = 3.0  # washing, oil, a coat: common practice, no source
DRY_GAIN_PCT = 1.0
FIRST_DAY_LOSS_PCT = 6.0
DAILY_LOSS_PCT = 2.0
MOST_LOSS_PCT = 60.0
LB_PER_KG = 2.2046226
UNIT_SLIPS = (10.0, 100.0, 1_000.0, LB_PER_KG, 28.349523, 16.0)  # a decimal place, kg for lb, oz for g, lb for oz
SLIP_SLACK = 0.08


@dataclass(frozen=True, slots=True)
class Doubt:
    """Why a weight is doubtful: a name out of FLAGS, and the range that would not be [g]."""

    flag: str
    low_g: float
    high_g: float


def plausible_range_g(last_g: float, days: float, *, wet: bool = False, step_g: float = 0.0) -> tuple[float, float]:
    """The weights that need no question so long after the last weighing.

    Args:
        last_g: the last net weight [g], above 0.
        days: time since then [d], 0 or more.
        wet: whether it is wet now, or was washed, oiled or coated since.
        step_g: the scale's step [g]; two steps are always allowed.
    Returns:
        Lowest and highest net weight [g].
    Raises:
        ValueError: a weight that is not above 0, a negative time or step.
    """
    if not last_g > 0 or days < 0 or step_g < 0:
        raise ValueError(f"last_g must be above 0, days and step_g not below, got {last_g:g}, {days:g}, {step_g:g}")
    loss_pct = min(FIRST_DAY_LOSS_PCT + DAILY_LOSS_PCT * days, MOST_LOSS_PCT)
    gain_pct = WET_GAIN_PCT if wet else DRY_GAIN_PCT
    return last_g * (1 - loss_pct / 100) - 2 * step_g, last_g * (1 + gain_pct / 100) + 2 * step_g


def doubt(net_g: float, last_g: float, days: float, *, wet: bool = False, step_g: float = 0.0) -> Doubt | None:
    """The doubt about a net weight [g], or None; arguments as for `plausible_range_g`."""
    low_g, high_g = plausible_range_g(last_g, days, wet=wet, step_g=step_g)
    if low_g <= net_g <= high_g:
        return None
    if _other_unit(net_g / last_g):
        return Doubt("unit_slip", low_g, high_g)
    return Doubt("heavier" if net_g > high_g else "much_lighter", low_g, high_g)


def _other_unit(ratio: float) -> bool:
    return any(abs(ratio / factor - 1) < SLIP_SLACK or abs(ratio * factor - 1) < SLIP_SLACK for factor in UNIT_SLIPS)
