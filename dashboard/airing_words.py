"""Whether to open the door, in one line."""

from collector.air.model import Origin
from collector.records.facts import Target
from collector.rules.airing import Airing, Want, advise, wanted
from collector.rules.airing import AirNow as Known
from dashboard.air_now import AirNow, Now
from dashboard.whom import joined, limits_of

DOES: dict[Want, str] = {"drier": "dry", "damper": "wet", "cooler": "cool", "warmer": "warm"}
WETS = {"wheels": "on the wheels", "surface": "on wall or ceiling", "air": "as fog"}
COLDEST_C, WARMEST_C = -30.0, 60.0  # what the rule answers for


def airing_line(inside: AirNow, outside: AirNow, target: Target | None) -> str:
    """What opening the door now would do: "Airing now helps: it would dry and cool it."

    Args:
        inside, outside: both airs now. target: what is asked of the place, None where nobody said.
    Returns:
        One or two sentences; "" where one of the airs is not measured now.
    """
    ours, theirs = _known(inside), _known(outside)
    if ours is None or theirs is None:
        return ""
    surface = inside.surface_c.value if inside.surface_c is not None else None
    return in_words(advise(ours, theirs, surface), wants(ours, target))


def wants(inside: Known, target: Target | None) -> tuple[Want, ...]:
    """What the air should become to be within its target; () when nothing, or when nothing is asked."""
    asked = limits_of(target)
    if asked is None:
        return ()
    return wanted(
        inside.temperature_c,
        inside.humidity_pct,
        (asked.temperature_low_c, asked.temperature_high_c),
        (asked.humidity_low_pct, asked.humidity_high_pct),
    )


def in_words(airing: Airing, asked: tuple[Want, ...]) -> str:
    """An airing in words: what it would do, whether that is wanted, and where water would come down."""
    does = joined([DOES[effect] for effect in airing.effects])
    wets = joined([WETS[place] for place in airing.condenses_on])
    water = f" Water would come down {wets}." if wets else ""
    if airing.worth_it(asked):
        return f"Airing now helps: it would {does} it."
    if wets:
        return f"Better not air now.{water}"
    if not does:
        return "Airing now would change little."
    return f"Better not air now: it would {does} it." if asked else f"Airing now would {does} it."


def _known(air: AirNow) -> Known | None:
    """An air as the rule takes it; None unless both are measured, and are what an air can be."""
    t, h = air.temperature_c, air.humidity_pct
    if not (_measured(t) and _measured(h)) or t.value is None or h.value is None:
        return None
    if not COLDEST_C <= t.value <= WARMEST_C or not 0 < h.value <= 100:
        return None
    return Known(t.value, h.value, t.uncertainty, h.uncertainty)


def _measured(now: Now) -> bool:
    return now.value is not None and now.origin <= Origin.TYPED
