"""Targets in words; pure."""

from collector.records.facts import Target
from collector.rules.presets import PRESETS
from dashboard.household import Household
from dashboard.words import duration, humidity, temperature

Ends = tuple[float | None, float | None]


def target_words(target: Target | None, household: Household) -> str:
    """What a place should have: "10.0 to 14.0 °C, 82 to 92 %"."""
    if target is None:
        return "No target yet"
    if target.resting:
        return "Resting: nothing is asked"
    warm_c = (target.temperature_low_c, target.temperature_high_c)
    return band_words(warm_c, (target.humidity_low_pct, target.humidity_high_pct), household) or "Nothing is asked"


def band_words(warm_c: Ends, damp_pct: Ends, household: Household) -> str:
    """Air within limits [degC] and [%], None for an open end: "10.0 to 14.0 °C, 82 to 92 %"; "" for no limit."""
    warm = _between(*("" if end is None else temperature(end, household) for end in warm_c))
    damp = _between(*("" if end is None else humidity(end, household) for end in damp_pct))
    return ", ".join(said for said in (warm, damp) if said)


def _between(low: str, high: str) -> str:
    if low and high:
        # The unit stands once: "10.0 to 14.0 °C".
        return f"{low.rsplit(' ', 1)[0]} to {high}"
    return f"at least {low}" if low else f"at most {high}" if high else ""


def grace_words(target: Target) -> str:
    return f"warned after {duration(target.grace_min * 60)}"


def preset_word(target: Target) -> str:
    """The kind of rind that a target began from, "" for none."""
    preset = PRESETS.get(target.preset)
    return preset.word if preset else ""
