"""Reads the facts of a warning, whatever is in them: a missing or odd one is simply not known; pure."""

import math
from datetime import datetime
from typing import Any

from collector.records.columns import from_ms
from collector.records.warnings import CaveWarning

EARLIEST_MS, LATEST_MS = 0, 7_258_118_400_000  # 1970 to 2200: beyond them it is no time


def real(facts: dict[str, Any], name: str) -> float | None:
    """A finite number, None when it is missing or something else."""
    value = facts.get(name)
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return None
    return float(value) if math.isfinite(value) else None


def text(facts: dict[str, Any], name: str) -> str:
    """A text, "" when it is missing or something else."""
    value = facts.get(name)
    return value if isinstance(value, str) else ""


def time_of(facts: dict[str, Any], name: str) -> datetime | None:
    """A time kept in milliseconds."""
    value = real(facts, name)
    return from_ms(int(value)) if value is not None and EARLIEST_MS <= value <= LATEST_MS else None


def rows(facts: dict[str, Any], name: str) -> list[dict[str, Any]]:
    """A list of facts, empty when it is missing or something else."""
    value = facts.get(name)
    return [row for row in value if isinstance(row, dict)] if isinstance(value, (list, tuple)) else []


def since(warning: CaveWarning) -> datetime:
    """When it began: the first step that counted, or when the warning opened."""
    return min(time_of(warning.facts, "since_ms") or warning.opened_at, warning.opened_at)
