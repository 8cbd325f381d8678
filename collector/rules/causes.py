"""What usually causes a warning about a place's air, and what to try first, for a phone in a cold cellar.

All of it is common practice, no source: what people who keep caves look at first, the likeliest and the cheapest on
top. It stands beside what the readings say and is never mixed into it.
"""

from collections.abc import Mapping
from typing import Any

from collector.rules.trust.causes import MAINS, Cause, Line


def _lines(*told: str | Line) -> tuple[Line, ...]:
    return tuple(one if isinstance(one, Line) else Line(one) for one in told)


CAUSES: dict[str, Cause] = {
    "too_warm": Cause(
        likely=_lines(
            "The door is not quite shut.", "The cooler is iced up, off, or set too high.", "It is hot outside."
        ),
        first=_lines(
            "Push the door shut and feel along its seal.",
            "Listen whether the cooler runs; if its plate is a block of ice, let it thaw.",
        ),
    ),
    "too_cold": Cause(
        likely=_lines("The thermostat is set too low.", "A cold night comes in through a hatch or an open door."),
        first=_lines("Turn the thermostat a little up.", "Shut the hatch and the door."),
    ),
    "too_damp": Cause(
        likely=_lines(
            "Many fresh wheels came in at once.",
            "Water stands somewhere: the tray is full, the floor is wet.",
            "The humidifier runs on.",
        ),
        first=_lines(
            "Empty the tray and mop up.",
            "Turn the humidifier down.",
            "Air the place if the air outside holds less water: the airing page says so.",
        ),
    ),
    "too_dry": Cause(
        likely=_lines(
            "The humidifier is empty or clogged.",
            "The cooler runs a lot and takes the water out.",
            "Few wheels stand here.",
        ),
        first=_lines(
            "Fill and rinse the humidifier.", "Hang up a wet cloth or set out a tray of water.", "Keep the door shut."
        ),
    ),
    "wheels_may_sweat": Cause(
        likely=_lines(
            "Warm, damp air came in.",
            "Cold wheels came into a warmer place.",
            "The cooler stood still and started late.",
        ),
        first=_lines("Keep the door shut until the wheels have caught up.", "Pat wet wheels dry and turn them."),
    ),
    "surface_may_drip": Cause(
        likely=_lines(
            "The ceiling or wall is colder than the air's dew point.", "The probe sits on the cooling plate."
        ),
        first=_lines(
            "Move wheels from under it, or lay a cloth over them.",
            "Let air pass along the cold place.",
            "If it sits on the cooling plate, put the probe elsewhere.",
        ),
    ),
    "cooler_changed": Cause(
        likely=_lines(
            "It has grown hotter around it.",
            "The plate is iced up.",
            "Dust covers the coils at the back.",
            "Many wheels came or went.",
        ),
        first=_lines("Let the plate thaw.", "Pull its plug, then brush the dust off the back.", MAINS),
    ),
    "cooler_changed/works_more": Cause(
        likely=_lines(
            "Ice on the plate, or dust on the coils at the back.",
            "The door seal leaks.",
            "It is losing its gas and will stop one day.",
        ),
        first=_lines(
            "Let the plate thaw.",
            "Hold a strip of paper in the shut door: where it slips out, the seal leaks.",
            "Pull its plug, then brush the dust off the back.",
            MAINS,
        ),
    ),
    "cooler_changed/shorter": Cause(
        likely=_lines("The thermostat's feeler has come loose.", "The cave is fuller or emptier than before."),
        first=_lines(
            "Look whether the feeler hangs where it hung.",
            "If it switches every few minutes, have it looked at: it wears out that way.",
        ),
    ),
    "cooler_changed/swings_more": Cause(
        likely=_lines(
            "The thermostat was changed or its feeler moved.",
            "The fan stands still.",
            "The probe hangs nearer to the plate.",
        ),
        first=_lines("Feel whether the fan blows.", "Look where probe and feeler hang."),
    ),
    "cooler_changed/stopped": Cause(
        likely=_lines("It is off, or its fuse is.", "The compressor is stuck."),
        first=_lines(
            "Look whether its light is on and the fuse is in.", "Move what cannot wait to another place.", MAINS
        ),
    ),
}
_SIDES = {
    ("temperature", "high"): "too_warm",
    ("temperature", "low"): "too_cold",
    ("humidity", "high"): "too_damp",
    ("humidity", "low"): "too_dry",
}


def cause_of(rule: str, facts: Mapping[str, Any]) -> Cause:
    """What usually causes one spell.

    Args:
        rule: the name of a rule about places. facts: those of its verdict.
    Returns:
        The row for what happened: on its way out is what being out is, a cooler goes by what it does.
    Raises:
        KeyError: a rule that is none about places.
    """
    if rule == "leaving":
        rule = _SIDES[facts["quantity"], facts["side"]]
    for what in facts.get("what", ()):
        if f"{rule}/{what}" in CAUSES:
            return CAUSES[f"{rule}/{what}"]
    return CAUSES[rule]
