"""The targets that held over a chart's time: they change, and a place may rest; pure."""

from collections.abc import Sequence
from dataclasses import dataclass

from collector.records.facts import Target, spans


@dataclass(frozen=True, slots=True)
class Band:
    """What was asked of one quantity for a time; an open end is None."""

    from_ms: int
    to_ms: int
    low: float | None
    high: float | None


def temperature_bands(targets: Sequence[Target], from_ms: int, to_ms: int) -> list[Band]:
    """Targets of the temperature [degC]; none while the place rested or had none."""
    return [
        Band(start, end, target.temperature_low_c, target.temperature_high_c)
        for start, end, target in _asked(targets, from_ms, to_ms)
        if target.temperature_low_c is not None or target.temperature_high_c is not None
    ]


def humidity_bands(targets: Sequence[Target], from_ms: int, to_ms: int) -> list[Band]:
    """Targets of the humidity [%]; none while the place rested or had none."""
    return [
        Band(start, end, target.humidity_low_pct, target.humidity_high_pct)
        for start, end, target in _asked(targets, from_ms, to_ms)
        if target.humidity_low_pct is not None or target.humidity_high_pct is not None
    ]


def _asked(targets: Sequence[Target], from_ms: int, to_ms: int) -> list[tuple[int, int, Target]]:
    found = spans(targets, from_ms, to_ms)
    return [(start, end, target) for start, end, target in found if target is not None and not target.resting]
