"""Where a style's numbers come from: ours to begin with, or the household's own, by whom and since when."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from collector.rules.presets import PRACTICE, PRESETS
from dashboard import words
from dashboard.household import Household
from dashboard.rounds.style_words import AIR, air_words, loss_words, ripe_words
from dashboard.wheels.bodies.sheets import StyleSheet
from dashboard.wheels.kinds.styles import STYLES
from dashboard.wheels.model import Entry

GROUPS: dict[str, tuple[str, ...]] = {
    "plan": ("plan",), "ripe": ("ripe_from_d", "ripe_to_d"), "air": AIR, "losses": ("losses",),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Origin:
    """Where one group of a style's fields comes from.

    Args:
        said: a sentence. ours: what going back to ours would bring, "" where it is ours or we have none.
    """

    said: str
    ours: str = ""


def ours_of(sheet: StyleSheet) -> StyleSheet | None:
    """The style to begin with that a household's style grew from; None for one of its own making."""
    by_name = {row.name.casefold(): name for name, row in STYLES.items()}
    return STYLES.get(sheet.preset or by_name.get(sheet.name.casefold(), ""))


def back_to_ours(sheet: StyleSheet, group: str) -> dict[str, Any]:
    """What a style would say in a group of fields if it were ours, by the style's names; {} where it says so or none is
    ours."""
    ours = ours_of(sheet)
    if ours is None or group not in GROUPS:
        return {}
    before, wanted = sheet.model_dump(mode="json"), ours.model_dump(mode="json")
    return {name: wanted[name] for name in GROUPS[group] if before[name] != wanted[name]}


def origins(sheet: StyleSheet, entries: Sequence[Entry], household: Household) -> dict[str, Origin]:
    """Where each group of GROUPS comes from.

    Args:
        sheet: the style as it is. entries: what was entered about it and counts, in order.
    """
    return {group: _origin(sheet, group, entries, household) for group in GROUPS}


def _origin(sheet: StyleSheet, group: str, entries: Sequence[Entry], household: Household) -> Origin:
    ours = ours_of(sheet)
    now, then = _as_said(sheet, group), _as_said(ours, group) if ours else None
    if ours is not None and now == then:
        return Origin(f"Ours to begin with: {_source(ours, group)}.")
    set_by = next((e for e in reversed(entries) if e.body.model_fields_set.intersection(GROUPS[group])), None)
    if set_by is None or not any(now):
        own = "Nobody has said it."
    else:
        who = f" by {set_by.who}" if set_by.who else ""
        own = f"Your own, set{who} on {words.long_date(set_by.happened_at, household)}."
    return Origin(own, f"{_shown(ours, group, household)} ({_source(ours, group)})" if ours else "")


def _as_said(sheet: StyleSheet, group: str) -> list[Any]:
    return [getattr(sheet, name) for name in GROUPS[group]]


def _source(ours: StyleSheet, group: str) -> str:
    """Where our own number comes from; a band of humidity may be a published one."""
    preset = PRESETS.get(ours.rind)
    if group != "air" or preset is None or preset.humidity_source == PRACTICE:
        return PRACTICE
    if preset.humidity_pct != (ours.humidity_low_pct, ours.humidity_high_pct):
        return PRACTICE
    return f"humidity by {preset.humidity_source}; temperature {PRACTICE}"


def _shown(ours: StyleSheet, group: str, household: Household) -> str:
    if group == "plan":
        return "the plan to begin with"
    said = {
        "ripe": ripe_words(ours), "air": air_words(ours, household), "losses": loss_words(ours.losses, household)
    }  # fmt: skip
    return said[group] or "nothing"
