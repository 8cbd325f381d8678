"""Whom an air suits and whom not, in words; pure."""

from collections.abc import Sequence
from dataclasses import dataclass

from collector.records.facts import Target
from collector.rules.presets import SLACK_K, SLACK_PCT


@dataclass(frozen=True, slots=True)
class Limits:
    """Air that is asked for: ends [degC] and [%], None for an open one."""

    temperature_low_c: float | None = None
    temperature_high_c: float | None = None
    humidity_low_pct: float | None = None
    humidity_high_pct: float | None = None


@dataclass(frozen=True, slots=True)
class Group:
    """Wheels of one style that stand in a place.

    Args:
        word: what they are called. count: how many. likes: the air of their style.
        open_to_air: False for what lies airtight, whose rind the humidity does not reach.
    """

    word: str
    count: int
    likes: Limits
    open_to_air: bool = True


def limits_of(target: Target | None) -> Limits | None:
    """What a target asks; None for no target, a resting place, or one without any end."""
    if target is None or target.resting:
        return None
    asked = Limits(
        target.temperature_low_c, target.temperature_high_c, target.humidity_low_pct, target.humidity_high_pct
    )
    return None if asked == Limits() else asked


def complaints(
    likes: Limits, temperature_c: float | None, humidity_pct: float | None, slack_k: float = 0, slack_pct: float = 0
) -> list[str]:
    """What is wrong with an air for those limits: "too damp", "too warm"...; empty where nothing is, or is known.

    Args:
        likes: the limits. temperature_c, humidity_pct: the air, None where unknown.
        slack_k, slack_pct: how far beyond the limits is borne.
    """
    sides = (
        _beyond(temperature_c, likes.temperature_low_c, likes.temperature_high_c, slack_k, ("too cold", "too warm")),
        _beyond(humidity_pct, likes.humidity_low_pct, likes.humidity_high_pct, slack_pct, ("too dry", "too damp")),
    )
    return [said for said in sides if said]


def _beyond(value: float | None, low: float | None, high: float | None, slack: float, said: tuple[str, str]) -> str:
    if value is None:
        return ""
    if low is not None and value < low - slack:
        return said[0]
    return said[1] if high is not None and value > high + slack else ""


def who_suffers(
    groups: Sequence[Group], temperature_c: float | None, humidity_pct: float | None, humidity_u_pct: float = 0.0
) -> str:
    """Whom the air suits and whom not: "Fine for washed rind (6), too damp for tomme (3)"; "" where nobody stands.

    Nobody suffers from what no rind notices, or from what the probe may have invented.
    """
    known = [group for group in groups if group.likes != Limits()]
    if not known or (temperature_c is None and humidity_pct is None):
        return ""
    by_complaint: dict[str, list[Group]] = {}
    for group in known:
        said = joined(suffers_from(group, temperature_c, humidity_pct, humidity_u_pct))
        by_complaint.setdefault(said or "fine", []).append(group)
    parts = [f"{said} for {_named(own)}" for said, own in sorted(by_complaint.items(), key=lambda kv: kv[0] != "fine")]
    text = ", ".join(parts)
    return text[:1].upper() + text[1:]


def suffers_from(
    group: Group, temperature_c: float | None, humidity_pct: float | None, humidity_u_pct: float = 0.0
) -> list[str]:
    felt_pct = humidity_pct if group.open_to_air else None
    return complaints(group.likes, temperature_c, felt_pct, SLACK_K, max(SLACK_PCT, humidity_u_pct))


def _named(groups: Sequence[Group]) -> str:
    return joined([f"{group.word} ({group.count})" for group in groups])


def joined(parts: Sequence[str]) -> str:
    return " and ".join([", ".join(parts[:-1]), parts[-1]]) if len(parts) > 1 else "".join(parts)
