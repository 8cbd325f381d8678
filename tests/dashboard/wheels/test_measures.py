"""What people type. Units are judged by pint (its definitions follow NIST SP 811)."""

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.errors import EntryRefused
from dashboard import words
from dashboard.household import Household
from dashboard.wheels.measures import (
    DURATION,
    LENGTH,
    PERCENT,
    PH,
    TEMPERATURE,
    VOLUME,
    WEIGHT,
    Measure,
    parse,
    parse_minutes,
    parse_temperature_c,
    parse_weight_g,
)

UNITS = pint.UnitRegistry()
PINT_NAMES = {
    "g": "gram", "kg": "kilogram", "lb": "pound", "oz": "ounce", "dag": "decagram",
    "mm": "millimeter", "cm": "centimeter", "m": "meter", "in": "inch",
    "l": "liter", "ml": "milliliter", "gal": "gallon", "qt": "quart",
    "min": "minute", "h": "hour", "d": "day", "s": "second",
    "°c": "degC", "°f": "degF",
}  # fmt: skip
INSIDE = {"g": "gram", "°C": "degC", "mm": "millimeter", "l": "liter", "min": "minute"}
JUDGED = [
    (measure, unit.words[0]) for measure in (WEIGHT, TEMPERATURE, LENGTH, VOLUME, DURATION) for unit in measure.units
]


@pytest.mark.parametrize(("measure", "word"), JUDGED, ids=[word for _, word in JUDGED])
def test_every_unit_agrees_with_pint(measure: Measure, word: str) -> None:
    unit = measure.by_word[word]
    judged = UNITS.Quantity(3.5, PINT_NAMES[word]).to(INSIDE[measure.inside]).magnitude
    assert 3.5 * unit.scale + unit.offset == pytest.approx(judged, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "pounds", "ounces"),
    [
        ("7 lb 2 oz", 7, 2),
        ("7lb2oz", 7, 2),
        ("7 LBS. 2 OZ.", 7, 2),
        ("7 lb, 2 oz", 7, 2),
        ("7 pounds and 2 ounces", 7, 2),
        ("7 lb 2", 7, 2),
        ("7 lb 2½ oz", 7, 2.5),
        ("7 lb 2 1/2", 7, 2.5),
        ("7½ lb", 7.5, 0),
        ("7.5lb", 7.5, 0),
        ("3/4 lb", 0.75, 0),
        ("0 lb 12,5 oz", 0, 12.5),
        ("9 oz", 0, 9),
    ],
)
def test_pounds_and_ounces(text: str, pounds: float, ounces: float) -> None:
    judged = (UNITS.Quantity(pounds, "pound") + UNITS.Quantity(ounces, "ounce")).to("gram").magnitude
    assert parse_weight_g(text) == pytest.approx(judged, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "unit", "weight_g"),
    [
        ("850", "g", 850),
        ("850", "kg", None),
        ("2.1kg", "g", 2_100),
        ("3,2 kg", "g", 3_200),
        (" 3.215 ", "kg", 3_215),
        ("3,215", "kg", 3_215),
        ("3,215", "g", 3_215),
        ("3 215 g", "g", 3_215),
        ("3'215 g", "g", 3_215),
        ("3\u202f215 g", "g", 3_215),
        ("1,250.5 g", "g", 1_250.5),
        ("1.250,5 g", "g", 1_250.5),
        (".5 kg", "g", 500),
        ("2 kg 300", "g", 2_300),
        ("2 kg 300 g", "g", 2_300),
        ("25 dag", "g", 250),
        ("２．１ kg", "g", 2_100),
        ("2.10 kilos", "g", 2_100),
    ],
)
def test_kilograms_and_grams(text: str, unit: str, weight_g: float | None) -> None:
    if weight_g is None:
        with pytest.raises(EntryRefused, match="at most 200000 g"):
            parse_weight_g(text, unit)
    else:
        assert parse_weight_g(text, unit) == pytest.approx(weight_g, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "temperature_c"),
    [
        ("54F", (54 - 32) / 1.8),
        ("54 °F", (54 - 32) / 1.8),
        ("54 deg F", (54 - 32) / 1.8),
        ("54 ℉", (54 - 32) / 1.8),
        ("12,5 °C", 12.5),
        ("12.5c", 12.5),
        ("12.5", 12.5),
        ("12.500", 12.5),
        ("-2", -2),
        ("−2 °C", -2),
        ("+ 4", 4),
        ("0", 0),
    ],
)
def test_temperatures(text: str, temperature_c: float) -> None:
    assert parse_temperature_c(text) == pytest.approx(temperature_c, abs=1e-9)


@pytest.mark.parametrize(
    ("measure", "text", "unit", "inside"),
    [
        (LENGTH, "20 cm", "mm", 200),
        (LENGTH, '8"', "mm", 203.2),
        (LENGTH, "8 1/2 in", "mm", 215.9),
        (VOLUME, "12", "l", 12),
        (VOLUME, "1,500 l", "l", 1.5),
        (VOLUME, "1,500 ml", "l", 1.5),
        (VOLUME, "2 gal 1 qt", "l", 2.25 * 3.785411784),
        (PERCENT, "85,5 %", "%", 85.5),
        (PH, "pH 5,25", "ph", None),
        (PH, "5,25", "ph", 5.25),
    ],
)
def test_other_measures(measure: Measure, text: str, unit: str, inside: float | None) -> None:
    if inside is None:
        with pytest.raises(EntryRefused, match="is not a number with a unit"):
            parse(text, measure, unit)
    else:
        assert parse(text, measure, unit) == pytest.approx(inside)


@pytest.mark.parametrize(("text", "minutes"), [("90", 90), ("1:30", 90), ("1 h 30", 90), ("12h", 720), ("1 d", 1_440)])
def test_lengths_of_time(text: str, minutes: float) -> None:
    assert parse_minutes(text) == minutes


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "weight is blank, got ''"),
        ("   ", "is blank"),
        ("heavy", "is not a number with a unit, got 'heavy'"),
        ("2 stone", "must be in g, kg, lb, oz, dag, got '2 stone'"),
        ("2 kg 3 lb 1", "has 3 lb, which must be below 2.20462"),
        ("2 oz 7 lb", "from the larger unit to the smaller"),
        ("7 lb 16 oz", "has 16 oz, which must be below 16, got"),
        ("7.5 lb 2 oz", "whole numbers first"),
        ("850 3 g", "has a number that cannot be read (850 3)"),
        ("1,25,0 g", "cannot be read"),
        ("1/0 kg", "cannot be read"),
        ("0 g", "must be at least 1 g, got '0 g'"),
        ("-310", "must be at least 1 g, got '-310'"),
        ("--310", "must be at least"),
        ("201 kg", "must be at most 200000 g"),
        ("1,250 oz", "can be read as 1.25 or 1250 oz; leave the mark out"),
        ("9" * 400, "is not a number"),
        ("kg", "is not a number"),
        ("1e999", "must be in g"),
        ("nan", "is not a number"),
        ("<b>2 kg</b>", "is not a number"),
        ("2\x00kg", "must be in"),
    ],
)
def test_what_cannot_be_read_is_refused_with_a_reason(text: str, why: str) -> None:
    with pytest.raises(EntryRefused) as refused:
        parse_weight_g(text, field="weight")
    assert why in str(refused.value)
    assert refused.value.field == "weight"


@given(st.text(max_size=70))
def test_any_text_is_read_or_refused(text: str) -> None:
    for measure, unit in ((WEIGHT, "g"), (TEMPERATURE, "°c"), (DURATION, "min")):
        read_or_refused(text, measure, unit)


def read_or_refused(text: str, measure: Measure, unit: str) -> None:
    try:
        value = parse(text, measure, unit)
    except EntryRefused as refused:
        reason = str(refused)
    else:
        reason = "read"
        assert measure.lowest <= value <= measure.highest
    assert 0 < len(reason) < 250


typed = st.from_regex(r"\A[0-9]{1,4}[.,' ]?[0-9]{0,3} ?(kg|g|lb|oz)?( [0-9]{1,2} ?(g|oz)?)?\Z")


@given(typed)
def test_what_looks_like_a_weight_is_read_or_refused(text: str) -> None:
    read_or_refused(text, WEIGHT, "g")


@given(st.floats(3, 199_000), st.sampled_from(["kg", "lb"]))
def test_a_weight_is_read_back_as_it_was_shown(weight_g: float, shown: str) -> None:
    text = words.weight(weight_g, Household(weight_unit=shown))
    step_g = 28.349523125 / 10 if shown == "lb" else 1 if weight_g < 999.5 else 10
    assert parse_weight_g(text) == pytest.approx(weight_g, abs=step_g * 0.501)


@given(st.floats(-29.9, 129.9), st.sampled_from("CF"))
def test_a_temperature_is_read_back_as_it_was_shown(temperature_c: float, shown: str) -> None:
    back = parse_temperature_c(words.temperature(temperature_c, Household(temperature_unit=shown)))
    assert back == pytest.approx(temperature_c, abs=0.0501)
