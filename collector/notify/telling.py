"""How far, and where it is heading: what each rule's warning says beside its word; pure and total.

A rule without a row here, or with facts that are missing, still gets a true sentence: it is only shorter.
"""

from collections.abc import Callable, Mapping

from collector.notify import facts, telling_cooler, telling_house, telling_probes
from collector.notify.amounts import amount, step
from collector.notify.household import difference, duration
from collector.notify.known import Known
from collector.records.warnings import CaveWarning
from collector.rules.place_rules import PLACE_RULES
from collector.rules.trust import BY_NAME as CHANNEL_RULES
from collector.vigilance.rules import VIGIL_RULES

Say = Callable[[CaveWarning, Known], list[str]]  # sentences without their full stop

ENDED = {
    "lost": "nothing has been measured there for a day, so nobody knows whether it is over",
    "released": "nothing is asked of this place any more",
    "left": "it has left its band now",
    "usual": "it has been so for weeks, and counts as usual now",
}


def word(rule: str) -> str:
    """What a rule is called; an unknown one by its name, readably."""
    known = PLACE_RULES.get(rule) or CHANNEL_RULES.get(rule) or VIGIL_RULES.get(rule)
    return known.word if known is not None else rule.replace("_", " ")


def now_says(warning: CaveWarning, known: Known) -> list[str]:
    """What is the case while it lasts."""
    return _TELLERS.get(warning.rule, (_nothing, _nothing))[0](warning, known)


def was_says(warning: CaveWarning, known: Known) -> list[str]:
    """How bad it was, once it is over."""
    said = _TELLERS.get(warning.rule, (_nothing, _nothing))[1](warning, known)
    ended = ENDED.get(facts.text(warning.facts, "ended"))
    return [*said, ended] if ended else said


def is_known_over(warning: CaveWarning) -> bool:
    """False when a warning ended only because nothing is known any more, or nothing is asked."""
    return facts.text(warning.facts, "ended") not in ENDED


def _nothing(_warning: CaveWarning, _known: Known) -> list[str]:
    return []


def _value(warning: CaveWarning, name: str, known: Known) -> str:
    value = facts.real(warning.facts, name)
    if value is None:
        return ""
    return amount(value, *_kind(warning), known.household)


def _kind(warning: CaveWarning) -> tuple[str, str]:
    return facts.text(warning.facts, "quantity"), facts.text(warning.facts, "unit")


def _wanted(warning: CaveWarning, known: Known) -> str:
    limit, side = _value(warning, "limit", known), facts.text(warning.facts, "side")
    if not limit or side not in ("high", "low"):
        return ""
    return f"wanted: at {'most' if side == 'high' else 'least'} {limit}"


def _drift_now(warning: CaveWarning, known: Known) -> list[str]:
    last, wanted = _value(warning, "last", known), _wanted(warning, known)
    now = ", ".join(part for part in (f"{last} over the last hour" if last else "", wanted) if part)
    return [part for part in (now, _heading(warning, known)) if part]


def _heading(warning: CaveWarning, known: Known) -> str:
    heading, per_h = facts.text(warning.facts, "heading"), facts.real(warning.facts, "per_h")
    if heading == "steady":
        return "holding steady"
    if heading == "back":
        return "on its way back"
    if heading != "away" or per_h is None:
        return ""
    way = {"high": "rising", "low": "falling"}.get(facts.text(warning.facts, "side"), "going")
    return f"still {way}, {step(abs(per_h), *_kind(warning), known.household)} an hour"


def _drift_was(warning: CaveWarning, known: Known) -> list[str]:
    worst, last = _value(warning, "worst", known), _value(warning, "last", known)
    wanted = _wanted(warning, known)
    bad = ", ".join(part for part in (f"{worst} at worst" if worst else "", wanted) if part)
    return [part for part in (bad, f"{last} at the end" if last else "") if part]


def _leaving_now(warning: CaveWarning, known: Known) -> list[str]:
    own = warning.facts
    level, wanted = _value(warning, "level", known), _wanted(warning, known)
    now = ", ".join(part for part in (f"{level} now" if level else "", wanted) if part)
    hours = facts.real(own, "hours_to_limit")
    least, most = facts.real(own, "hours_least"), facts.real(own, "hours_most")
    if hours is None:
        return [now] if now else []
    span = f", between {duration(least * 3_600)} and {duration(most * 3_600)}" if least and most else ""
    return [part for part in (now, f"at this pace it leaves its band in about {duration(hours * 3_600)}{span}") if part]


def _leaving_was(warning: CaveWarning, known: Known) -> list[str]:
    level = _value(warning, "level", known)
    return [f"{level} when last seen moving"] if level else []


def _margin(name: str, warning: CaveWarning, known: Known, above: str, below: str) -> str:
    value = facts.real(warning.facts, name)
    if value is None:
        return ""
    return f"{difference(abs(value), known.household)} {above if value >= 0 else below}"


def _dew_says(warning: CaveWarning, known: Known, name: str) -> list[str]:
    thing = "the wheels are" if warning.rule == "wheels_may_sweat" else "the surface is"
    margin = _margin(name, warning, known, "above the air's dew point", "below the air's dew point")
    unsure = "that is within what the probe may be off" if warning.facts.get("sure") is False else ""
    plate = (
        "the probe may sit on the cooler, which is always wet"
        if warning.facts.get("plate_like") is True and name == "last"
        else ""
    )
    at_worst = " at worst" if name == "worst" else ""
    return [part for part in (f"{thing} {margin}{at_worst}" if margin else "", unsure, plate) if part]


def _dew_now(warning: CaveWarning, known: Known) -> list[str]:
    return _dew_says(warning, known, "last")


def _dew_was(warning: CaveWarning, known: Known) -> list[str]:
    return [said.replace(" are ", " were ").replace(" is ", " was ") for said in _dew_says(warning, known, "worst")]


_DRIFT, _DEW = (_drift_now, _drift_was), (_dew_now, _dew_was)
_TELLERS: Mapping[str, tuple[Say, Say]] = {
    "too_warm": _DRIFT,
    "too_cold": _DRIFT,
    "too_damp": _DRIFT,
    "too_dry": _DRIFT,
    "leaving": (_leaving_now, _leaving_was),
    "wheels_may_sweat": _DEW,
    "surface_may_drip": _DEW,
    **telling_cooler.TELLERS,
    **telling_probes.TELLERS,
    **telling_house.TELLERS,
}
