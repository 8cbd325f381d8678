"""The words by which the name of a field gives away its quantity and unit.

A guess is only ever a proposal: the probes page shows it and the person corrects it. So it is careful:
whole words only ("press" is not a pressure, "attempt" no temperature), and a name that speaks of a set
point, a limit or the probe's own chip is no guess at all. Names come as the wire has them: camelCase,
snake_case, with dots, or a JSON Pointer whose outer parts lend their words to the inner ones.
Common practice, no source.
"""

from __future__ import annotations

import re
from functools import lru_cache

from collector.quantities import QUANTITIES, UNITS, can_be, to_canonical


def _set(words: str) -> frozenset[str]:
    return frozenset(words.split())


# Each word with what it can stand for, most likely first.
WORDS: dict[str, tuple[str, ...]] = {
    **dict.fromkeys(("temperature", "temp", "airtemp", "roomtemp", "tair"), ("temperature",)),
    **dict.fromkeys(("surfacetemp", "walltemp", "tsurface", "twall"), ("surface_temperature",)),
    **dict.fromkeys(("humidity", "humid", "hum", "rh", "relhum", "relativehumidity"), ("humidity",)),
    **dict.fromkeys(("pressure", "pres", "baro", "barometer", "barometric", "airpressure"), ("pressure",)),
    **dict.fromkeys(("co2", "carbondioxide"), ("co2",)),
    **dict.fromkeys(("battery", "batt", "bat"), ("battery", "battery_voltage")),
    **dict.fromkeys(("voltage", "volt", "volts", "vbat", "vbatt", "vcc", "vdd"), ("battery_voltage",)),
    **dict.fromkeys(("door", "contact", "reed", "lid", "hatch", "open", "opened", "closed", "shut"), ("door",)),
    **dict.fromkeys(("weight", "mass"), ("weight",)),
    **dict.fromkeys(("rssi", "signal"), ("signal",)),
    **dict.fromkeys(("linkquality", "lqi"), ("link_quality",)),
    "uptime": ("uptime",),
}

# A lone letter is a word only when it is the whole innermost name.
LETTERS: dict[str, tuple[str, ...]] = {"t": ("temperature",), "h": ("humidity",), "p": ("pressure",)}

# Anywhere in the name, these make a temperature that of a surface; a DS18B20 hangs on a wire or is taped
# to something far more often than it measures air.
SURFACE_WORDS = _set("surface wall ceiling shelf floor slab rind skin ds18b20 ds18s20")

# A number under such a name is not what the air or the wheel did: a setting, a statistic, something
# computed from other readings, the inside of a chip, another kind of moisture.
NO_MEASUREMENT = _set(
    "target setpoint set desired limit threshold alarm alert hysteresis min minimum max maximum low high "
    "offset calibration cal correction gain factor interval period timeout count counter total id index "
    "version error errors delta diff trend raw adc dew dewpoint frost frostpoint wetbulb absolute abs feels "
    "apparent heatindex humidex vpd cpu mcu chip core processor colour color soil moisture eco2"
)

# How people and plain JSON write a unit, in lower case, and its code.
UNIT_WORDS: dict[str, str] = {
    **dict.fromkeys(("c", "°c", "ºc", "℃", "degc", "celsius", "cel", "centigrade"), "Cel"),
    **dict.fromkeys(("f", "°f", "ºf", "℉", "degf", "fahrenheit"), "degF"),
    **dict.fromkeys(("k", "kelvin"), "K"),
    **dict.fromkeys(("%", "pct", "percent", "percentage"), "%"),
    **dict.fromkeys(("%rh", "rh", "%r.h.", "% rh"), "%RH"),
    **dict.fromkeys(("hpa", "hectopascal"), "hPa"),
    **dict.fromkeys(("mbar", "mb", "millibar"), "mbar"),
    **dict.fromkeys(("pa", "pascal"), "Pa"),
    **{word.lower(): word for word in ("kPa", "bar", "inHg", "mmHg", "ppm", "dBm", "dBW", "lqi")},
    **dict.fromkeys(("v", "volt", "volts"), "V"),
    **dict.fromkeys(("mv", "millivolt", "millivolts"), "mV"),
    **dict.fromkeys(("kg", "kilogram", "kilograms", "kilo"), "kg"),
    **dict.fromkeys(("g", "gram", "grams"), "g"),
    **dict.fromkeys(("lb", "lbs", "pound", "pounds"), "lb"),
    **dict.fromkeys(("oz", "ounce", "ounces"), "oz"),
    **dict.fromkeys(("s", "sec", "secs", "second", "seconds"), "s"),
    **dict.fromkeys(("ms", "msec", "millis", "milliseconds"), "ms"),
    **dict.fromkeys(("min", "mins", "minute", "minutes"), "min"),
    **dict.fromkeys(("h", "hr", "hrs", "hour", "hours"), "h"),
    **dict.fromkeys(("d", "day", "days"), "d"),
    # A reed contact is made, and says 1, while the door is shut.
    **dict.fromkeys(("closed", "shut", "contact", "reed"), "closed"),
    **dict.fromkeys(("open", "opened"), "open"),
}

_TELLING = {unit.code: unit.to for unit in UNITS if unit.telling}
_VOCABULARY = frozenset(WORDS) | frozenset(LETTERS) | SURFACE_WORDS | NO_MEASUREMENT | frozenset(UNIT_WORDS)
_GAPS = re.compile(r"[\W_]+")
_CAMEL = re.compile(r"[A-Z0-9]+(?![a-z])|[A-Z]?[a-z0-9]+")


def unit_code(text: str, quantity: str) -> str | None:
    """The code for a unit as somebody wrote it, if a value of this quantity can be in it ("°F" is degF)."""
    if can_be(text, quantity):
        return text
    code = UNIT_WORDS.get(text.strip().casefold())
    return code if code is not None and can_be(code, quantity) else None


@lru_cache(maxsize=4096)
def guess_quantity(name: str, unit: str = "") -> str | None:
    """The quantity that a field's name and unit speak of, or None rather than a wild guess.

    Args:
        name: as on the wire: "tempC", "air_humidity", "/SHT/Temp", "wall.temperature".
        unit: as on the wire, code or word; "" when none was sent. A unit that contradicts the name: None.
    """
    parts = _parts(name)
    words = {word for part in parts for word in part}
    if words & NO_MEASUREMENT:
        return None
    candidates = _candidates(parts) or _by_unit_alone(unit)
    if candidates[:1] == ("temperature",) and words & SURFACE_WORDS:
        candidates = ("surface_temperature",)
    if unit:
        return next((quantity for quantity in candidates if unit_code(unit, quantity)), None)
    named = (quantity for quantity in candidates if _named_unit(parts, quantity))
    return next(named, candidates[0] if candidates else None)


@lru_cache(maxsize=4096)
def guess_unit(name: str, quantity: str, value: float | None = None) -> str:
    """The unit of a value that came without one: named in the field ("tempF"), else the usual one.

    Args:
        name: the field's name as on the wire.
        quantity: a name of the QUANTITIES table.
        value: if given, the first usual unit in which it is possible (1013 is hPa, 101300 is Pa).
    """
    named = _named_unit(_parts(name), quantity)
    usual = QUANTITIES[quantity].usual_units
    if named is not None or value is None:
        return named or usual[0]
    return next((unit for unit in usual if _is_possible(value, unit, quantity)), usual[0])


def _is_possible(value: float, unit: str, quantity: str) -> bool:
    row = QUANTITIES[quantity]
    return row.lowest <= to_canonical(value, unit, quantity) <= row.highest


def _candidates(parts: list[tuple[str, ...]]) -> tuple[str, ...]:
    """What the innermost part with a known word can stand for, narrowed by its other words."""
    for outwards, part in enumerate(reversed(parts)):
        found = [WORDS[word] for word in part if word in WORDS]
        if outwards == 0 and len(part) == 1 and part[0] in LETTERS:
            return LETTERS[part[0]]
        if found:
            return _common(found)
    return ()


def _common(found: list[tuple[str, ...]]) -> tuple[str, ...]:
    """The last word names the thing ("battery temperature"), the ones before it narrow it down."""
    common = found[-1]
    for others in found[:-1]:
        common = tuple(quantity for quantity in common if quantity in others) or common
    return common


def _by_unit_alone(unit: str) -> tuple[str, ...]:
    code = unit if unit in _TELLING else UNIT_WORDS.get(unit.strip().casefold(), "")
    if code not in _TELLING or (len(unit) == 1 and unit != code):  # a bare "F" may be a farad
        return ()
    return tuple(row.name for row in QUANTITIES.values() if row.unit == _TELLING[code])[:1]


def _named_unit(parts: list[tuple[str, ...]], quantity: str) -> str | None:
    codes = (UNIT_WORDS.get(word) for part in reversed(parts) for word in part)
    return next((code for code in codes if code is not None and can_be(code, quantity)), None)


def _parts(name: str) -> list[tuple[str, ...]]:
    return [_words(part) for part in name.split("/") if part]


def _words(part: str) -> tuple[str, ...]:
    """The words of one part in lower case: "wallTemp_2" is wall, temp, 2."""
    chunks = [chunk for chunk in _GAPS.split(part) if chunk]
    joined = "".join(chunks).casefold()
    if joined in WORDS:
        return (joined,)
    return tuple(word for chunk in chunks for word in _unglued(chunk.casefold()) or _by_capitals(chunk))


def _by_capitals(chunk: str) -> list[str]:
    pieces = _CAMEL.findall(chunk) if chunk.isascii() else [chunk]
    return [word for piece in pieces for word in _unglued(piece.casefold()) or (piece.casefold(),)]


def _unglued(piece: str) -> tuple[str, ...]:
    """The known words of a piece: "temp2" is temp, "tempf" is temp and f; empty if it is not of such."""
    for word in (piece, piece.rstrip("0123456789")):
        if word in _VOCABULARY:
            return (word,)
    for word, stands_for in WORDS.items():
        rest = piece.removeprefix(word)
        if rest != piece and any(can_be(UNIT_WORDS.get(rest, ""), quantity) for quantity in stands_for):
            return (word, rest)
    return ()
