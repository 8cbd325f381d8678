"""Weights, temperatures, lengths, volumes and times as people type them, and as they are shown; pure.

Inside there are only g, degC, mm, l and min. A measure or a unit is one row in a table here.
"""

import re
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Literal

from collector.errors import EntryRefused
from dashboard.wheels.numbers_typed import plain_text, readings_of

MAX_TEXT = 60


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: inside = value * scale + offset.

    Args:
        words: how people write it, in small letters; the first is shown.
        below: the unit that a number after it has when none is named ("7 lb 2" is 2 oz).
        mark: what a single mark before three digits is when both readings are possible: "thousands" ("1,250 g"),
            "decimals" ("1,250 l"), or "ask".
    """

    words: tuple[str, ...]
    scale: float
    offset: float = 0.0
    below: str = ""
    mark: Literal["ask", "thousands", "decimals"] = "ask"


@dataclass(frozen=True, slots=True)
class Measure:
    """What can be typed: its word, its inside unit, and the lowest and highest value that is kept."""

    word: str
    inside: str
    lowest: float
    highest: float
    units: tuple[Unit, ...]
    signed: bool = False
    by_word: dict[str, Unit] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.by_word.update({word: unit for unit in self.units for word in unit.words})


# Pound, ounce, inch and the US gallon are exact by definition (NIST SP 811, appendix B.8). Limits: our choice, the
# widest value that could still be true of a cheese.
WEIGHT = Measure(
    "weight",
    "g",
    1,
    200_000,
    (
        Unit(("g", "gr", "gm", "gms", "gram", "grams", "gramme", "grammes"), 1, mark="thousands"),
        Unit(
            ("kg", "kgs", "kilo", "kilos", "kilogram", "kilograms", "kilogramme", "kilogrammes"),
            1_000,
            below="g",
            mark="decimals",
        ),
        Unit(("lb", "lbs", "pound", "pounds"), 453.59237, below="oz"),
        Unit(("oz", "ozs", "ounce", "ounces"), 28.349523125),
        Unit(("dag", "dkg", "deka"), 10),
    ),
)
TEMPERATURE = Measure(
    "temperature",
    "°C",
    -30,
    130,
    (
        Unit(("°c", "c", "deg c", "degc", "degrees c", "celsius", "degrees celsius", "° c", "cel"), 1),
        Unit(
            ("°f", "f", "deg f", "degf", "degrees f", "fahrenheit", "degrees fahrenheit", "° f"), 5 / 9, offset=-160 / 9
        ),
    ),
    signed=True,
)
LENGTH = Measure(
    "length",
    "mm",
    0.1,
    2_000,
    (
        Unit(("mm", "millimetre", "millimetres", "millimeter", "millimeters"), 1),
        Unit(("cm", "centimetre", "centimetres", "centimeter", "centimeters"), 10),
        Unit(("m", "metre", "metres", "meter", "meters"), 1_000, below="cm", mark="decimals"),
        Unit(("in", '"', "inch", "inches"), 25.4),
    ),
)
VOLUME = Measure(
    "volume",
    "l",
    0.001,
    100_000,
    (
        Unit(("l", "lt", "ltr", "litre", "litres", "liter", "liters"), 1, mark="decimals"),
        Unit(("ml", "millilitre", "millilitres", "milliliter", "milliliters"), 0.001, mark="thousands"),
        Unit(("gal", "gallon", "gallons"), 3.785411784, below="qt"),
        Unit(("qt", "quart", "quarts"), 0.946352946),
    ),
)
DURATION = Measure(
    "time",
    "min",
    0,
    20_000,
    (
        Unit(("min", "mins", "minute", "minutes", "m"), 1),
        Unit(("h", "hr", "hrs", "hour", "hours"), 60, below="min"),
        Unit(("d", "day", "days"), 1_440, below="h"),
        Unit(("s", "sec", "secs", "second", "seconds"), 1 / 60),
    ),
)
PERCENT = Measure("percentage", "%", 0, 100, (Unit(("%", "pct", "percent", "%rh", "% rh"), 1),))
PH = Measure("pH", "pH", 2, 10, (Unit(("ph",), 1),))

_TERM = re.compile(r"(\d[\d.,'/ ]*|[.,]\d+)([^\d]*)")
_HOURS = re.compile(r"(\d{1,3}):([0-5]\d)")
_AND = re.compile(r"(?:^|\s*)(?:,|;|&|\+|\band)\s*$")


def parse(text: str, measure: Measure, default_unit: str, field: str = "") -> float:
    """What somebody typed, in the measure's inside unit.

    Args:
        text: "7 lb 2 oz", "3,2 kg", "2.1kg", "54F", "12,5 °C", "2 1/2 oz", or a bare number.
        measure: one of the tables above.
        default_unit: the unit of a bare number, one of the measure's words.
        field: the form's field, for the error; "" is the measure's word.
    Raises:
        EntryRefused: it is no such measure, or cannot be one; says what, which value and which limit.
    """
    asked = _Asked(text, measure, field or measure.word)
    plain = plain_text(text[: MAX_TEXT + 1])
    if not plain or len(text) > MAX_TEXT:
        raise asked.refused("is not a number with a unit" if plain else "is blank")
    negative = plain.startswith("-")
    if plain[0] in "+-":
        plain = plain[1:].strip()
    if negative and not measure.signed:
        raise asked.refused(f"must be at least {_plain(measure.lowest)} {measure.inside}")
    terms = _terms(plain, default_unit, asked)
    return _within(terms, -1 if negative else 1, asked)


@dataclass(frozen=True, slots=True)
class _Asked:
    text: str
    measure: Measure
    field: str

    def refused(self, why: str) -> EntryRefused:
        shown = self.text.strip()
        short = shown if len(shown) <= MAX_TEXT else shown[:MAX_TEXT] + "..."
        return EntryRefused(self.field, f"{self.field} {why}, got {short!r}")


@dataclass(frozen=True, slots=True)
class _Term:
    readings: list[float]
    unit: Unit


def _terms(plain: str, default_unit: str, asked: _Asked) -> list[_Term]:
    parts = _TERM.findall(plain)
    if not parts or "".join(number + words for number, words in parts) != plain:
        raise asked.refused("is not a number with a unit")
    terms: list[_Term] = []
    for number, words in parts:
        readings = readings_of(number.strip().rstrip(".,'"))
        if not readings:
            raise asked.refused(f"has a number that cannot be read ({number.strip()})")
        terms.append(_Term(readings, _unit(words, terms, default_unit, asked)))
    return terms


def _unit(words: str, before: list[_Term], default_unit: str, asked: _Asked) -> Unit:
    word = _AND.sub("", words.strip()).strip(" .").casefold()
    if not word:
        word = before[-1].unit.below if before else default_unit
    unit = asked.measure.by_word.get(word)
    if unit is None:
        known = ", ".join(unit.words[0] for unit in asked.measure.units)
        raise asked.refused(f"must be in {known}" if word else "has a number without a unit")
    return unit


def _within(terms: list[_Term], sign: int, asked: _Asked) -> float:
    """The one reading that is possible; with none the limit is named, with two the person is asked."""
    measure = asked.measure
    _descending(terms, asked)
    head = sum(term.readings[0] * term.unit.scale for term in terms[:-1])
    last = terms[-1]
    found = [sign * (head + value * last.unit.scale) + last.unit.offset for value in last.readings]
    possible = [value for value in found if measure.lowest <= value <= measure.highest]
    if not possible:
        low = found[0] < measure.lowest
        limit = measure.lowest if low else measure.highest
        raise asked.refused(f"must be at {'least' if low else 'most'} {_plain(limit)} {measure.inside}")
    if len(possible) > 1 and last.unit.mark == "ask":
        ways = " or ".join(_plain(value) for value in last.readings)
        raise asked.refused(f"can be read as {ways} {last.unit.words[0]}; leave the mark out")
    return possible[-1] if last.unit.mark == "thousands" else possible[0]


def _descending(terms: list[_Term], asked: _Asked) -> None:
    for one, other in pairwise(terms):
        if other.unit.scale >= one.unit.scale or one.readings[0] != int(one.readings[0]):
            raise asked.refused("must go from the larger unit to the smaller, whole numbers first")
        if other.readings[0] * other.unit.scale >= one.unit.scale:
            most = _plain(one.unit.scale / other.unit.scale)
            raise asked.refused(f"has {_plain(other.readings[0])} {other.unit.words[0]}, which must be below {most}")


def _plain(value: float) -> str:
    return f"{value:.6g}" if abs(value) < 1e6 else f"{value:.0f}"


def parse_weight_g(text: str, default_unit: str = "g", field: str = "weight") -> float:
    """A weight [g], 1..200000; errors as for `parse`."""
    return parse(text, WEIGHT, default_unit, field)


def parse_temperature_c(text: str, default_unit: str = "°c", field: str = "temperature") -> float:
    """A temperature [degC], -30..130; errors as for `parse`."""
    return parse(text, TEMPERATURE, default_unit, field)


def parse_minutes(text: str, default_unit: str = "min", field: str = "time") -> float:
    """A length of time [min], 0..20000: "90", "1:30", "1 h 30", "12 h"; errors as for `parse`."""
    clock = _HOURS.fullmatch(text.strip())
    return parse(f"{clock[1]} h {clock[2]} min" if clock else text, DURATION, default_unit, field)
