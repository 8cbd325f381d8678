"""Targets to begin with, by kind of rind."""

from datetime import datetime

from collector.records.columns import new_id
from collector.records.facts import Target
from collector.rules.presets import GRACE_MIN, PRESETS, Preset, humidity_band

__all__ = ["PRESETS", "preset_words", "target_of"]
NONE_YET = "No target yet"


def preset_words() -> dict[str, str]:
    """The kinds of rind to choose from, and none."""
    return {"": NONE_YET, **{name: preset.word for name, preset in PRESETS.items()}}


def target_of(
    preset: Preset, place_id: str, from_at: datetime, known_at: datetime, by: str, *, checked: bool = False
) -> Target:
    """A preset as the target of a place.

    Args:
        checked: whether the probe that speaks for the place was checked; an unchecked one gets no narrow band.
    """
    low_c, high_c = preset.temperature_c
    low_pct, high_pct = humidity_band(preset, checked=checked) or (None, None)
    return Target(
        new_id(), from_at, known_at, place_id, False, low_c, high_c, low_pct, high_pct, GRACE_MIN, preset.name, by=by
    )
