"""What the rule about a cooler that has changed says beside its word; pure and total."""

from collections.abc import Callable, Mapping
from typing import Any

from collector.notify import facts
from collector.notify.household import difference, number
from collector.notify.known import Known
from collector.records.warnings import CaveWarning

Say = Callable[[CaveWarning, Known], list[str]]


def _pair(warning: CaveWarning, measure: str) -> tuple[float, float] | None:
    """What a measure is now and usually, where both are known."""
    sides: list[float] = []
    for side in ("now", "usual"):
        values: Any = warning.facts.get(side)
        value = facts.real(values, measure) if isinstance(values, dict) else None
        if value is None:
            return None
        sides.append(value)
    return sides[0], sides[1]


def _duty(warning: CaveWarning, _known: Known) -> str:
    pair = _pair(warning, "duty")
    return f"it cools {100 * pair[0]:.0f} % of the time, usually {100 * pair[1]:.0f} %" if pair else "it works more"


def _length(warning: CaveWarning, _known: Known) -> str:
    pair = _pair(warning, "length_min")
    if pair is None:
        return "each run is of another length"
    return f"it cools {number(pair[0], 0)} min at a time, usually {number(pair[1], 0)} min"


def _swing(warning: CaveWarning, known: Known) -> str:
    pair = _pair(warning, "swing_k")
    if pair is None:
        return "the temperature swings otherwise"
    return f"it swings by {difference(pair[0], known.household)}, usually {difference(pair[1], known.household)}"


def _stopped(_warning: CaveWarning, _known: Known) -> str:
    return "it hardly starts any more, and it gets warmer"


WHAT: Mapping[str, Callable[[CaveWarning, Known], str]] = {
    "stopped": _stopped,
    "works_more": _duty,
    "longer": _length,
    "shorter": _length,
    "swings_more": _swing,
    "swings_less": _swing,
}


def _now(warning: CaveWarning, known: Known) -> list[str]:
    what = warning.facts.get("what")
    named = [one for one in what if isinstance(one, str)] if isinstance(what, list) else []
    return list(dict.fromkeys(say(warning, known) for one, say in WHAT.items() if one in named))


def _was(_warning: CaveWarning, _known: Known) -> list[str]:
    return []


TELLERS: Mapping[str, tuple[Say, Say]] = {"cooler_changed": (_now, _was)}
