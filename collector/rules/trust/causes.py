"""What is likely wrong with a probe and what to do about it, in a keeper's words.

Each line says where it comes from. Most are common practice: what people who keep probes in damp rooms find first.
"""

from dataclasses import dataclass

PRACTICE = "common practice"
HUMIDITY_SHEET = "SHT20 and SHT4x data sheets"
ONE_WIRE_SHEET = "DS18B20 data sheet"


@dataclass(frozen=True, slots=True)
class Line:
    """One sentence and where it comes from."""

    text: str
    source: str = PRACTICE


@dataclass(frozen=True, slots=True)
class Cause:
    """For one rule, or one kind of one rule: what is likely wrong, and what to try first, each likeliest first."""

    likely: tuple[Line, ...]
    first: tuple[Line, ...]


# Whoever unplugs things in a damp cellar meets the mains sooner or later; so it stands with every such step.
MAINS = Line(
    "Switch off at the fuse before touching a mains plug in a damp room, and leave its wiring to an electrician."
)
CHECK = Line("Check it over table salt, or beside a probe that you have checked.")

CAUSES: dict[str, Cause] = {
    "stuck": Cause(
        likely=(
            Line("The probe's program hangs and sends its last number again."),
            Line("The sensor no longer answers and the program does not notice."),
        ),
        first=(
            Line("Take the battery out for ten seconds, or pull the probe's own plug, and put it back."),
            Line("Breathe on it: the number should move within a minute."),
            MAINS,
        ),
    ),
    "impossible": Cause(
        likely=(
            Line("A plug or wire of the sensor is loose, wet or green."),
            Line("The supply is too weak: an old battery, a long thin wire."),
        ),
        first=(
            Line("Push the plugs in, dry them, look for green copper."),
            Line("Put in a fresh battery."),
            Line("If it goes on, the sensor is done: change it."),
        ),
    ),
    "impossible/power_on": Cause(
        likely=(
            Line(
                "The sensor starts anew before each reading: 85 degrees is what it says before it has measured.",
                ONE_WIRE_SHEET,
            ),
            Line("Its supply breaks down: a weak battery, a loose wire, a missing pull-up resistor."),
        ),
        first=(Line("Put in a fresh battery and push the plugs in."), Line("Give the sensor its own supply wire.")),
    ),
    "impossible/no_sensor": Cause(
        likely=(Line("The sensor is not connected: a broken wire or a plug that slipped out."),),
        first=(Line("Push the plugs in and look along the wire, where it bends and where a door shuts on it."),),
    ),
    "jumping": Cause(
        likely=(
            Line("Water in the sensor or its plug."),
            Line("A loose plug, or a wire beside a motor or a pump."),
            Line("A supply that sags when the radio sends."),
        ),
        first=(
            Line("Take it out, dry it for a day in warm room air, and hang it where nothing drips on it."),
            Line("Push the plugs in and put in a fresh battery."),
        ),
    ),
    "saturated": Cause(
        likely=(
            Line("The air may well be at 96 % or above: a good probe reads 100 there."),
            Line("The sensor is wet, or dripped on."),
            Line("A humidity probe that lives above 80 % reads a few points too high after some days.", HUMIDITY_SHEET),
        ),
        first=(
            Line("Look for drops on the ceiling, the wall and the probe."),
            Line("Dry the probe for a day in warm room air outside the cave, then check it over table salt."),
        ),
    ),
    "disagrees": Cause(
        likely=(
            Line("This probe has drifted, or was never checked."),
            Line("It hangs in air of its own: by the door, the cooler, the humidifier, on a wall, near wet wheels."),
        ),
        first=(Line("Hang both side by side for a day. If they still differ, this one is off."), CHECK),
    ),
    "apart": Cause(
        likely=(
            Line("One of the two has drifted, or neither was ever checked."),
            Line("They hang in different air: top and bottom, door and back, near wet wheels."),
        ),
        first=(
            Line("Hang both side by side for a day. If they agree there, the air differs and both are right."),
            CHECK,
        ),
    ),
    "creeping": Cause(
        likely=(
            Line(
                "A humidity probe that lives above 80 % moves up by a few points, and back in dry air.", HUMIDITY_SHEET
            ),
            Line("Mould, dust or salt on the sensor."),
            Line("The shelves around one of the two have filled or emptied."),
        ),
        first=(CHECK, Line("Dry it for a day in warm room air before the check, and look at its cap.")),
    ),
    "battery_low": Cause(
        likely=(Line("The battery is at its end; cold takes a part of what is left."),),
        first=(
            Line("Change or charge it before the date, and note nothing else: the probe goes on by itself."),
            Line("Lithium cells bear the cold better than alkaline ones. Never charge a cell that is not made for it."),
        ),
    ),
}


def cause(rule: str, kind: str | None = None) -> Cause:
    """What is likely wrong when a rule speaks, and what to try first.

    Args:
        rule: name of a rule in `collector.rules.trust.CHANNEL_RULES`.
        kind: the fact "kind" of the rule "impossible"; unknown ones fall back to the rule's own.
    Returns:
        Lines for a person, each with its source.
    Raises:
        ValueError: a rule that the table does not hold.
    Source: stands beside each line.
    """
    found = CAUSES.get(f"{rule}/{kind}", CAUSES.get(rule))
    if found is None:
        raise ValueError(f"rule must be one of {', '.join(CAUSES)}, got {rule}")
    return found
