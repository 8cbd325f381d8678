"""The air that the household's own styles like, to start a target from."""

from dataclasses import replace
from datetime import datetime
from typing import Any

from sqlalchemy import Connection

from collector.records.columns import new_id
from collector.records.facts import Target
from collector.rules.presets import GRACE_MIN, LEAST_WIDTH_PCT, PRESETS, Preset, humidity_band
from dashboard.household import Household
from dashboard.places.presets import preset_words, target_of
from dashboard.places.target_form import IN_USE, LIMITS, grace_text, limit_text
from dashboard.wheels.bodies.sheets import StyleSheet
from dashboard.wheels.book import styles

OF_STYLE = "style:"
"""Before the id of a style, where a target is begun from it and not from a kind of rind."""


def beginnings(db: Connection) -> dict[str, str]:
    """What a target can be begun from: the household's styles that like some air, then the kinds of rind."""
    own = {
        OF_STYLE + one.id: f"{one.sheet.name or one.sheet.rind} (your style)" for one in styles(db) if _likes(one.sheet)
    }
    first, *others = preset_words().items()
    return dict([first, *own.items(), *others])


def _likes(sheet: StyleSheet) -> bool:
    return any(getattr(sheet, name) is not None for name in LIMITS)


def style_of(db: Connection, chosen: str) -> StyleSheet | None:
    """The style that a choice of `beginnings` names; None for a kind of rind or nothing known."""
    known = {OF_STYLE + one.id: one.sheet for one in styles(db)} if chosen.startswith(OF_STYLE) else {}
    return known.get(chosen)


def limits_of_style(sheet: StyleSheet, *, checked: bool) -> dict[str, float | None]:
    """The air that a style likes as a target asks for it, by LIMITS; as narrow as the probe can tell.

    Args:
        checked: whether the probe that speaks for the place was checked; an unchecked one gets no narrow band.
    """
    found: dict[str, float | None] = {name: getattr(sheet, name) for name in LIMITS}
    low, high = sheet.humidity_low_pct, sheet.humidity_high_pct
    if low is not None and high is not None and low < high:
        as_rind = Preset("", "", (0, 0), (low, high), "")
        found["humidity_low_pct"], found["humidity_high_pct"] = humidity_band(as_rind, checked=checked) or (low, high)
    return found


def style_texts(sheet: StyleSheet, chosen: str, household: Household, *, checked: bool) -> dict[str, str]:
    """A style's air as the texts of a target's form."""
    limits = limits_of_style(sheet, checked=checked)
    texts = {name: limit_text(name, value, household) for name, value in limits.items()}
    return {"use": IN_USE, "preset": chosen, "grace": grace_text(GRACE_MIN), **texts}


def style_why(sheet: StyleSheet, *, checked: bool) -> str:
    """Where a target's numbers come from, in whole sentences."""
    said = f"The air that your style {sheet.name or sheet.rind} likes."
    own = (sheet.humidity_low_pct, sheet.humidity_high_pct)
    limits = limits_of_style(sheet, checked=checked)
    if (limits["humidity_low_pct"], limits["humidity_high_pct"]) == own:
        return said
    return f"{said} The band is {LEAST_WIDTH_PCT:g} points wide because nobody has checked this probe."


def begun_from(
    db: Connection, chosen: str, place_id: str, from_at: datetime, known_at: datetime, by: str
) -> Target | None:
    """The target of a new place from a choice of `beginnings`, its probe not checked yet; None for no choice."""
    if chosen in PRESETS:
        return target_of(PRESETS[chosen], place_id, from_at, known_at, by)
    sheet = style_of(db, chosen)
    if sheet is None or not _likes(sheet):
        return None
    blank = Target(new_id(), from_at, known_at, place_id, grace_min=GRACE_MIN, by=by)
    limits: dict[str, Any] = {**limits_of_style(sheet, checked=False)}
    return replace(blank, **limits)
