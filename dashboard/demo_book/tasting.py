"""How the invented keeper tastes: when, in which words, and what should be otherwise next time."""

from collections.abc import Mapping
from typing import Any

from dashboard.wheels.bodies.doings import Tasting

# At which ages a style is tasted [d], besides its last day.
AGES_D: Mapping[str, tuple[int, ...]] = {
    "natural-rind tomme": (60, 90),
    "cloth-bound cheddar": (180, 270),
    "alpine": (120, 180, 240),
    "washed rind": (32,),
    "blue": (60, 90),
    "bloomy": (22,),
    "bagged": (90, 180, 270),
}
TEXTURES = ("supple", "a little dry under the rind", "smooth, bends before it breaks", "crumbly", "short and firm")
AROMAS = ("hay and cellar", "warm butter", "mushroom", "broth", "clean milk, a little nutty")
FLAVOURS = ("round, nutty at the end", "mild, salt comes late", "sharp but clean", "sweet, then a little bitter")
NEXT_TIMES = (
    "Cut the curd a little smaller.",
    "Two hours less in the brine.",
    "Drain a touch earlier, it is slightly sour.",
    "Leave as it is.",
    "Turn more often in the first week.",
)


def tasting(drawn: Any, *, ill: bool) -> Tasting:
    """One tasting.

    Args:
        drawn: chance (a numpy Generator). ill: the rind had trouble, which costs a point.
    """

    def one_of(words: tuple[str, ...]) -> str:
        return words[int(drawn.integers(0, len(words)))]

    verdict = min(max(round(3.9 + float(drawn.normal(0, 0.7)) - (1 if ill else 0)), 1), 5)
    return Tasting(
        texture=one_of(TEXTURES),
        aroma=one_of(AROMAS),
        flavour=one_of(FLAVOURS),
        salt=int(drawn.integers(2, 5)),
        acid=int(drawn.integers(1, 5)),
        bitter=int(drawn.integers(1, 3)) + int(ill),
        strength=int(drawn.integers(2, 5)),
        verdict=verdict,
        next_time=one_of(NEXT_TIMES),
        tasters="the keeper and a neighbour",
    )
