"""Weighings that do not fit their neighbours, and what each likely was; pure.

The trend is taken out first: a wheel that dries has a slope, and beside a slope an odd value hides (in twelve daily
values with a slope a wild one scored 3.3 as it stood, 69 beside the robust line). Here the trend is the median of what
each stretch lost for the pull of its air; the spread is floored at what a scale repeats, since beside a nearly straight
line the spread of the rest is tiny.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from collector.readings.model import Values

CUT_OFF, FEW_CUT_OFF = 3.5, 3.0  # Iglewicz and Hoaglin 1993; NIST e-Handbook 1.3.5.17 (from memory)
MAD_TO_SD = 1.4826
# Our choice: by how much the rind itself lets a stretch differ from the usual.
OWN_WAYS = 0.30
LEAST_WEIGHINGS = 4
WET_AT_MOST = 0.02  # of the weight; a wheel that was washed gained half of that (common practice, no source)
GAINS_AT_MOST = 0.025  # of the weight from one weighing to the next; above it no water does it
STEP_AT_LEAST = 0.012  # of the weight; what stays changed by less is the air's or the rind's doing
TARE_SLACK = 0.15
WET, BOARD, TAKEN, MISREAD, ADDED = "wet", "board", "taken", "misread", "added"
WORDS = {
    WET: "likely weighed wet",
    BOARD: "likely weighed on its board",
    TAKEN: "likely something was taken out before",
    MISREAD: "likely misread",
    ADDED: "likely something was put on before, or it stands on its board since",
}


@dataclass(frozen=True, slots=True)
class Odd:
    """One odd weighing.

    Args:
        index: its number among the weighings. kind: a name in WORDS. grams: by how much it is off, above 0 too heavy.
        lasts: what came after is off by the same, so that it is a step and not one odd value.
    """

    index: int
    kind: str
    grams: float
    lasts: bool = False

    @property
    def words(self) -> str:
        return WORDS[self.kind]


def odd_weighings(weight_g: Values, pull: Values, sigma_g: Values, tares_g: Sequence[float] = ()) -> tuple[Odd, ...]:
    """Find odd weighings and name them.

    Args:
        weight_g: in order of time [g], above 0, shape (n,). pull: what would have been lost up to each weighing by the
            pull of the air, in any unit, rising with what the air took, shape (n,). sigma_g: standard uncertainty of
            each [g], above 0. tares_g: of the household's boards [g].
    Returns:
        The odd ones in order; among fewer than four only those heavier than a wheel can become by itself, and never the
        first, since nothing stands before it.
    Raises:
        ValueError: shapes that differ.
    Source: robust z above 3.5 beside the trend; what it likely was is our choice, see the constants.
    """
    if not weight_g.shape == pull.shape == sigma_g.shape:
        raise ValueError(f"all must have one length, got {weight_g.shape}, {pull.shape} and {sigma_g.shape}")
    gross = _gross(weight_g, tares_g) or _few_that_gained(weight_g, pull, sigma_g, tares_g)
    mended = weight_g.copy()
    for one in gross:
        mended[one.index :] -= one.grams if one.lasts else 0.0
    out = {one.index for one in gross if not one.lasts}
    kept = np.array([number for number in range(len(weight_g)) if number not in out], dtype=np.int64)
    if len(kept) < LEAST_WEIGHINGS:
        return gross
    beside = _beside_the_trend(mended[kept], pull[kept], sigma_g[kept], tares_g)
    return tuple(sorted((*gross, *(replace(o, index=int(kept[o.index])) for o in beside)), key=lambda o: o.index))


def _gross(weight_g: Values, tares_g: Sequence[float]) -> tuple[Odd, ...]:
    """Weighings heavier than any wheel becomes by itself; these show without a trend."""
    found: list[Odd] = []
    # Against the heavier of the last two that fit, so that one reading far too light does not make its neighbour odd.
    fitting = [float(weight) for weight in weight_g[:1]]
    for index in range(1, len(weight_g)):
        before = max(fitting[-2:])
        off = float(weight_g[index]) - before
        if off <= GAINS_AT_MOST * before:
            fitting.append(float(weight_g[index]))
            continue
        after = weight_g[index + 1 :]
        lasts = len(after) > 1 and bool(np.all(after > (1 + GAINS_AT_MOST) * before))
        odd = _named(index, off, lasts, float(weight_g[index]), tares_g)
        found += [odd] if odd else []
        fitting = [float(weight_g[index])] if lasts else fitting
    return tuple(found)


def _few_that_gained(weight_g: Values, pull: Values, sigma_g: Values, tares_g: Sequence[float]) -> tuple[Odd, ...]:
    """Among too few for a trend: those that gained while the air took."""
    if len(weight_g) >= LEAST_WEIGHINGS:
        return ()
    gained, pulled = np.diff(weight_g), np.diff(pull)
    likely = 1 + np.flatnonzero((gained > FEW_CUT_OFF * np.hypot(sigma_g[1:], sigma_g[:-1])) & (pulled > 0))
    named = (_named(int(i), float(gained[i - 1]), False, float(weight_g[i]), tares_g) for i in likely)
    return tuple(one for one in named if one)


def _beside_the_trend(weight_g: Values, pull: Values, sigma_g: Values, tares_g: Sequence[float]) -> list[Odd]:
    found: list[Odd] = []
    excess, scale = _excess(weight_g, pull, sigma_g)
    at = 1
    while at < len(weight_g):
        off = excess[at - 1]
        if abs(off) <= CUT_OFF * scale[at - 1]:
            at += 1
            continue
        # Of a last weighing nothing tells whether it lasts: far too light is likelier a slice than a misreading.
        is_last = at == len(excess)
        lasts = off < -STEP_AT_LEAST * weight_g[at] if is_last else abs(off + excess[at]) > 0.5 * abs(off)
        odd = _named(at, float(off), lasts, float(weight_g[at]), tares_g)
        found += [odd] if odd else []
        # The stretch back from one odd value is odd itself and says nothing more.
        at += 1 if lasts else 2
    return found


def _excess(weight_g: Values, pull: Values, sigma_g: Values) -> tuple[Values, Values]:
    """What each stretch gained beyond the trend [g], and how much it may."""
    lost, pulled = -np.diff(weight_g), np.diff(pull)
    usual = np.abs(pulled) > 0.02 * np.max(np.abs(pulled))
    rate = float(np.median(lost[usual] / pulled[usual])) if usual.any() else 0.0
    excess = rate * pulled - lost
    repeats = np.sqrt(sigma_g[1:] ** 2 + sigma_g[:-1] ** 2 + (OWN_WAYS * rate * pulled) ** 2)
    spread = MAD_TO_SD * float(np.median(np.abs(excess - np.median(excess))))
    return excess, np.maximum(repeats, spread)


def _named(index: int, off_g: float, lasts: bool, weight_g: float, tares_g: Sequence[float]) -> Odd | None:
    share = abs(off_g) / weight_g
    if lasts:
        return Odd(index, ADDED if off_g > 0 else TAKEN, off_g, True) if share >= STEP_AT_LEAST else None
    if off_g < 0:
        return Odd(index, MISREAD, off_g)
    near_tare = any(abs(off_g - tare) <= TARE_SLACK * tare for tare in tares_g if tare > 0)
    return Odd(index, BOARD if near_tare or share > WET_AT_MOST else WET, off_g)
