"""What usually causes a warning and what to try first: common practice, and marked so; pure."""

from dataclasses import dataclass

from collector.notify import facts
from collector.records.warnings import CaveWarning
from collector.rules.trust.causes import CAUSES as PROBE_CAUSES
from collector.vigilance.rules import VIGIL_RULES

MARK = "common practice"


@dataclass(frozen=True, slots=True)
class Advice:
    """The likeliest cause and the first thing to try, "" where there is none to give."""

    likely: str = ""
    first: str = ""


# Common practice, no source: what people who keep caves look at first.
PLACES: dict[str, Advice] = {
    "too_warm": Advice(
        likely="the door not quite shut, or the cooler iced up or off",
        first="look at the door and listen to the cooler",
    ),
    "too_cold": Advice(
        likely="the thermostat set too low, or a cold night through an open hatch",
        first="look at the thermostat and the hatch",
    ),
    "too_damp": Advice(
        likely="many fresh wheels at once, or a full drip tray",
        first="empty the tray, and air the place if the air outside is drier",
    ),
    "too_dry": Advice(
        likely="the humidifier is empty, or the cooler runs a lot",
        first="fill the humidifier, or hang up a wet cloth",
    ),
    "leaving": Advice(
        likely="something has changed: a door, a filter, a load of fresh wheels",
        first="look now, while it is still inside",
    ),
    "cooler_changed": Advice(
        likely="ice on the coil, dust at the back, or a door seal that leaks",
        first="pull its plug with dry hands, then defrost it and brush the dust off",
    ),
    "wheels_may_sweat": Advice(
        likely="warm air got in, or cold wheels came into a warmer place",
        first="keep the door shut, and pat wet wheels dry",
    ),
    "surface_may_drip": Advice(
        likely="a cold wall or ceiling above damp air",
        first="move wheels from under it, and let air pass along it",
    ),
}


def advice(warning: CaveWarning) -> Advice:
    """What to say of a warning; nothing for a rule that no table knows."""
    if warning.rule in PLACES:
        return PLACES[warning.rule]
    if warning.rule in VIGIL_RULES:
        rule = VIGIL_RULES[warning.rule]
        return Advice(rule.likely, rule.first)
    kind = facts.text(warning.facts, "kind")
    cause = PROBE_CAUSES.get(f"{warning.rule}/{kind}", PROBE_CAUSES.get(warning.rule))
    if cause is None:
        return Advice()
    return Advice(_line(cause.likely[0].text), _line(cause.first[0].text))


def _line(sentence: str) -> str:
    return sentence[:1].lower() + sentence[1:].rstrip(".")
