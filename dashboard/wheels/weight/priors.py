"""What is known of a rind before the first weighing; pure.

k of a bare rind is plausible from 1e-9 to 1e-8 kg m-2 s-1 Pa-1 (a bare Camembert in quiet air gave 3.1e-9, computed
from Picque et al. 2011, doi 10.3168/jds.2010-3373; 0.5 to 1.5 % a week of a 3.4 kg wheel at 85 % are 1.3e-9 to 4e-9).
Water activities by variety are from memory (Rueegg and Blanc; Marcos). That a bare hard wheel's loss grows like the
root of time: J. Dairy Res. 21 (1954). What a living rind breathes: one mol of oxygen takes 12 g of carbon along
(computed from the oxycaloric value); how much that is by the day, and every spread below, is our choice.
"""

from dataclasses import dataclass
from math import log, pi

DENSITY_KG_M3 = 1080.0  # common practice, no source
HEIGHT_TO_DIAMETER = 0.5  # our choice where nobody said the size


@dataclass(frozen=True, slots=True)
class RindPrior:
    """Mean and spread of what may be true of a rind.

    Args:
        ln_k, ln_k_spread: natural logarithm of k of the fresh bare rind [kg m-2 s-1 Pa-1].
        activity, activity_spread: water activity of the surface.
        falls: how likely k falls with age like one over the root, 0 to 1; breathes: how likely it loses weight with no
            pull of the air at all.
        ln_settles_d: after how many days k has fallen to 71 %. ln_breath: g m-2 d-1.
    """

    ln_k: float
    activity: float
    falls: float
    breathes: float
    ln_k_spread: float = 0.6
    activity_spread: float = 0.012
    ln_settles_d: float = log(12.0)
    ln_settles_spread: float = 1.0
    ln_breath: float = log(2.5)
    ln_breath_spread: float = 0.8


HARD = RindPrior(log(4.0e-9), 0.955, falls=0.75, breathes=0.15, activity_spread=0.015)
LIVING = RindPrior(log(3.0e-9), 0.972, falls=0.4, breathes=0.75)
PRIORS: dict[str, RindPrior] = {
    "natural": HARD,
    "cloth": HARD,
    "coated": HARD,
    "waxed": HARD,
    "smeared": LIVING,
    "washed": LIVING,
    "bloomy": RindPrior(log(3.0e-9), 0.978, falls=0.4, breathes=0.75, activity_spread=0.010),
    "blue": RindPrior(log(3.0e-9), 0.950, falls=0.5, breathes=0.5, activity_spread=0.015),
    "fresh": RindPrior(log(4.0e-9), 0.985, falls=0.4, breathes=0.2, activity_spread=0.008),
}


def prior_of(rind: str) -> RindPrior:
    """The prior of a kind of rind; a kind that is not known counts as natural."""
    return PRIORS.get(rind, HARD)


def open_area_m2(weight_g: float, diameter_mm: float | None = None, height_mm: float | None = None) -> float:
    """Open area of a wheel: both faces and the side.

    Args:
        weight_g: its weight [g], above 0. diameter_mm, height_mm: where they were measured; else a wheel half as high
            as wide is thought of.
    Returns:
        Area [m2].
    Raises:
        ValueError: a weight that is not above 0.
    Source: geometry; density 1080 kg/m3, common practice, no source.
    """
    if not weight_g > 0:
        raise ValueError(f"weight_g must be above 0, got {weight_g:g}")
    volume = weight_g / 1000 / DENSITY_KG_M3
    if diameter_mm:
        wide = diameter_mm / 1000
        high = height_mm / 1000 if height_mm else volume / (pi / 4 * wide**2)
        return pi * wide * (wide / 2 + high)
    wide = (volume / (pi / 4 * HEIGHT_TO_DIAMETER)) ** (1 / 3)
    return float(pi * wide * wide * (0.5 + HEIGHT_TO_DIAMETER))
