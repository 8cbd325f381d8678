"""The form of a target: filled in from a target, a kind of rind or an offer, and read back."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime

from collector.errors import EntryRefused
from collector.records.columns import new_id
from collector.records.facts import Target
from collector.rules.presets import GRACE_MIN, LEAST_WIDTH_PCT, PRESETS, humidity_band
from dashboard import words
from dashboard.forms import of_field
from dashboard.household import Household
from dashboard.moments_typed import moment_typed
from dashboard.typed_air import humidity_pct, temperature_c
from dashboard.wheels.measures import parse_minutes

IN_USE, RESTING = "in use", "resting"
SHORTEST_MIN, LONGEST_MIN = 10, 24 * 60  # rules look in steps of ten minutes, and count a longer grace as a day
LIMITS: Mapping[str, str] = {
    "temperature_low_c": "the lowest temperature",
    "temperature_high_c": "the highest temperature",
    "humidity_low_pct": "the lowest humidity",
    "humidity_high_pct": "the highest humidity",
}


def texts_of(target: Target | None, household: Household) -> dict[str, str]:
    """A target as the texts of its form."""
    if target is None:
        return {"use": IN_USE, "grace": grace_text(GRACE_MIN), "preset": ""}
    return {
        "use": RESTING if target.resting else IN_USE,
        "grace": grace_text(target.grace_min),
        "preset": target.preset,
        **{name: limit_text(name, getattr(target, name), household) for name in LIMITS},
    }


def limit_text(name: str, value: float | None, household: Household) -> str:
    """One of LIMITS as a form's field shows it, in the household's unit; "" for an open end."""
    if value is None:
        return ""
    if name.startswith("temperature"):
        return words.temperature_number(value, household).removesuffix(".0")
    return f"{value:g}"


def grace_text(minutes: int) -> str:
    return words.duration(minutes * 60)


def texts_of_preset(name: str, household: Household, *, checked: bool) -> dict[str, str]:
    """A kind of rind as the texts of the form; an unknown one changes nothing."""
    preset = PRESETS.get(name)
    if preset is None:
        return {}
    low_c, high_c = preset.temperature_c
    low_pct, high_pct = humidity_band(preset, checked=checked) or (None, None)
    values = dict(zip(LIMITS, (low_c, high_c, low_pct, high_pct), strict=True))
    return {
        "use": IN_USE,
        "preset": name,
        "grace": grace_text(GRACE_MIN),
        **{name: limit_text(name, value, household) for name, value in values.items()},
    }


def texts_of_offer(asked: Mapping[str, str], household: Household) -> dict[str, str]:
    """What an address suggests, in canonical units by the columns' own names; what is no number is left out."""
    found: dict[str, str] = {}
    for name, text in asked.items():
        try:
            value = float(text)
        except ValueError:
            continue
        if name in LIMITS and abs(value) < 1_000:
            found[name] = limit_text(name, value, household)
        if name == "grace_min" and SHORTEST_MIN <= value <= LONGEST_MIN:
            found["grace"] = grace_text(int(value))
    return found


def read(texts: Mapping[str, str], place_id: str, household: Household, now_at: datetime, by: str) -> Target:
    """A target out of its form.

    Raises:
        EntryRefused: a limit that cannot be, a low one above its high one, no limit at all, a grace that cannot be,
            or a time that cannot be read.
    """
    from_at = since_typed(texts, household, now_at)
    blank = Target(new_id(), from_at, now_at, place_id, by=by)
    if texts.get("use") == RESTING:
        return replace(blank, resting=True)
    limits = {name: limit_typed(name, texts.get(name, ""), household) for name in LIMITS}
    if all(value is None for value in limits.values()):
        raise EntryRefused("temperature_low_c", "Give at least one limit, or let the place rest.")
    check_order(limits, texts)
    preset = texts.get("preset", "")
    return replace(
        blank,
        temperature_low_c=limits["temperature_low_c"],
        temperature_high_c=limits["temperature_high_c"],
        humidity_low_pct=limits["humidity_low_pct"],
        humidity_high_pct=limits["humidity_high_pct"],
        grace_min=_grace(texts),
        preset=preset if preset in PRESETS else "",
    )


def since_typed(texts: Mapping[str, str], household: Household, now_at: datetime) -> datetime:
    """From when on the target holds; it may be set for a day to come."""
    if texts.get("since", "now") == "now":
        return now_at
    if not texts.get("since_at", "").strip():
        raise EntryRefused("since_at", "Say from when on, or take from now on.")
    return moment_typed(texts["since_at"], household, now_at, "since_at", ahead=True)


def limit_typed(name: str, typed: str, household: Household) -> float | None:
    """One of LIMITS as it was typed [degC or %], None for a blank.

    Raises:
        EntryRefused: it cannot be read or cannot be.
    """
    text = typed.strip()
    if not text:
        return None
    if name.startswith("temperature"):
        return temperature_c(text, household, name, LIMITS[name])
    return humidity_pct(text, name, LIMITS[name])


def check_order(limits: Mapping[str, float | None], texts: Mapping[str, str]) -> None:
    """Refuse a low end that is not below its high one; `texts` are what was typed.

    Raises:
        EntryRefused: names the high one.
    """
    for low_name, high_name, what in (
        ("temperature_low_c", "temperature_high_c", "temperature"),
        ("humidity_low_pct", "humidity_high_pct", "humidity"),
    ):
        low, high = limits[low_name], limits[high_name]
        if low is not None and high is not None and low >= high:
            least, got = texts.get(low_name, "").strip(), texts.get(high_name, "").strip()
            raise EntryRefused(high_name, f"The highest {what} must be above the lowest, {least}, got {got}.")


def _grace(texts: Mapping[str, str]) -> int:
    text = texts.get("grace", "").strip()
    try:
        minutes = round(parse_minutes(text, "min", "the time before warning"))
    except EntryRefused as refused:
        raise of_field("grace", refused) from refused
    if not SHORTEST_MIN <= minutes <= LONGEST_MIN:
        raise EntryRefused("grace", f"The time before warning must be from 10 minutes to 24 hours, got {text}.")
    return minutes


def is_narrow(target: Target, *, checked: bool) -> bool:
    """Whether a band of humidity is narrower than what an unchecked probe may be off."""
    low, high = target.humidity_low_pct, target.humidity_high_pct
    return not checked and low is not None and high is not None and high - low < LEAST_WIDTH_PCT
