"""The air that kinds of rind are usually kept in, to start a target from, and whom an air suits; pure.

Starting points for a person to change, never evidence. Each row says where its numbers come from; most are common
practice with no source. A hygrometer that nobody checked is off by 3 points or so in the damp of a cave, so for one the
band of humidity is never narrower than 6 points: a narrower one would warn of the probe and not of the air.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

PRACTICE = "common practice, no source"
GUELPH = 'University of Guelph, Food Science, "Humidity and curing"'
LEAST_WIDTH_PCT = 6.0  # twice the 3 points by which an unchecked probe is usually off above 80 % (SHT3x data sheet)
DAMPEST_PCT = 99.0  # our choice: beyond it no probe tells air from dew
GRACE_MIN = 120  # our choice: a load of fresh wheels or a long visit is over by then
SLACK_K, SLACK_PCT = 0.5, 1.0  # our choice: what no rind notices

Complaint = Literal["too warm", "too cold", "too damp", "too dry"]


@dataclass(frozen=True, slots=True)
class Preset:
    """The air for one kind of rind; a humidity of None is one that the rind does not feel.

    Args:
        name: as it stands in the records; never changed once released.
        word: what a person reads.
        why: one sentence on what the limits keep away.
        temperature_source, humidity_source: where the numbers come from.
    """

    name: str
    word: str
    temperature_c: tuple[float, float]
    humidity_pct: tuple[float, float] | None
    why: str
    temperature_source: str = PRACTICE
    humidity_source: str = PRACTICE


PRESETS: dict[str, Preset] = {
    preset.name: preset
    for preset in (
        Preset(
            "natural",
            "natural rind, tommes",
            (10, 13),
            (85, 92),
            "Drier and the rind cracks; damper and cat hair and slime come before the grey coat.",
        ),
        Preset(
            "dry",
            "hard, dry rind, for grating",
            (12, 18),
            (80, 85),
            "Drier and the crust splits and lets mould in; damper and it never gets hard.",
            humidity_source=f"{GUELPH}: dry rinds",
        ),
        Preset(
            "cloth",
            "cloth-bound",
            (10, 13),
            (80, 88),
            "Drier and the wheel shrinks from its cloth; damper and the cloth stays wet.",
        ),
        Preset(
            "smeared",
            "smeared rind, alpine",
            (12, 15),
            (90, 95),
            "The smear needs damp air that moves; drier and it dies, wetter and it runs.",
            humidity_source=f"{GUELPH}: washed bacterial rinds",
        ),
        Preset(
            "washed",
            "washed rind, soft",
            (10, 14),
            (92, 97),
            "Drier and the rind turns hard and pale; without fresh air it turns slimy.",
        ),
        Preset(
            "bloomy",
            "bloomy rind",
            (11, 14),
            (88, 95),
            "Drier and the white coat stays thin; damper and it slips or gets black spots.",
        ),
        Preset(
            "blue",
            "blue",
            (8, 12),
            (88, 95),
            "Drier and the blue stays away from the rind; warmer and it grows too fast and tastes sharp.",
        ),
        Preset(
            "coated",
            "coated",
            (10, 15),
            (80, 86),
            "Drier and the coat cracks; damper and mould grows on it.",
        ),
        Preset(
            "waxed",
            "waxed or bagged",
            (8, 13),
            None,
            "Nothing reaches the rind, so only the temperature counts; warmer and gas may lift the wax.",
        ),
        Preset(
            "drying",
            "drying before the cave",
            (12, 18),
            (80, 86),
            "Drier and the outside hardens while the inside is wet; damper and the surface stays slippery.",
        ),
    )
}


@dataclass(frozen=True, slots=True)
class Suits:
    """What an air is for the wheels of one kind: how many, and what is wrong with it for them; () is fine."""

    name: str
    count: int
    complaints: tuple[Complaint, ...]


def humidity_band(preset: Preset, *, checked: bool) -> tuple[float, float] | None:
    """The humidity to aim for [%].

    Args:
        preset: the kind of rind.
        checked: whether the probe was checked against salt or a checked probe lately.
    Returns:
        The row's limits; for an unchecked probe widened evenly to 6 points, below 99 %. None where the rind does not
        feel the humidity.
    """
    if preset.humidity_pct is None:
        return None
    low, high = preset.humidity_pct
    missing = 0.0 if checked else max(0.0, LEAST_WIDTH_PCT - (high - low))
    top = min(high + missing / 2, max(high, DAMPEST_PCT))
    return low - missing + (top - high), top


def why(preset: Preset, *, checked: bool) -> str:
    """Why the band is as it is, in whole sentences."""
    band = humidity_band(preset, checked=checked)
    if band is None or band == preset.humidity_pct:
        return preset.why
    return (
        f"{preset.why} It is {LEAST_WIDTH_PCT:g} points wide because nobody has checked this probe: "
        "it may be 3 points off either way."
    )


def whom_it_suits(
    temperature_c: float | None, humidity_pct: float | None, counts: Mapping[str, int], humidity_u_pct: float = 0.0
) -> list[Suits]:
    """Whom an air suits and whom not.

    Args:
        temperature_c, humidity_pct: the air [degC, %], None where unknown.
        counts: how many wheels stand there, by a name of `PRESETS`; other names are left out.
        humidity_u_pct: how far off the humidity may be [points]; nobody suffers from what the probe may have invented.
    Returns:
        One entry a kind, those who suffer first, then by number.
    """
    found = [
        Suits(name, count, _complaints(PRESETS[name], temperature_c, humidity_pct, humidity_u_pct))
        for name, count in counts.items()
        if name in PRESETS and count > 0
    ]
    return sorted(found, key=lambda one: (not one.complaints, -one.count, one.name))


def _complaints(
    preset: Preset, temperature_c: float | None, humidity_pct: float | None, humidity_u_pct: float
) -> tuple[Complaint, ...]:
    found: list[Complaint] = []
    if temperature_c is not None:
        low, high = preset.temperature_c
        found += ["too warm"] if temperature_c > high + SLACK_K else []
        found += ["too cold"] if temperature_c < low - SLACK_K else []
    if humidity_pct is not None and preset.humidity_pct is not None:
        slack = max(SLACK_PCT, humidity_u_pct)
        low, high = preset.humidity_pct
        found += ["too damp"] if humidity_pct > high + slack else []
        found += ["too dry"] if humidity_pct < low - slack else []
    return tuple(found)
