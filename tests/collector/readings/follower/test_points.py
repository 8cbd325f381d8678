"""Lines against a strict reader of the line protocol that was written from its reference."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.readings.follower.points import flux_string, named, reading_lines, rollup_lines
from collector.readings.model import Channel
from tests.line_protocol import Malformed, parse

NAMES = st.text(min_size=1, max_size=20)
NUMBERS = st.floats(allow_nan=False, allow_infinity=False)


def a_channel(probe: str = "cellar-1", field: str = "temperature", quantity: str | None = "temperature") -> Channel:
    return Channel(1, probe, field, quantity, "Cel", 0)


# Source: InfluxDB 2 documentation, "Line protocol", the examples of special characters.
@pytest.mark.parametrize(
    ("line", "tags", "fields"),
    [
        (r"m,tag\ Key1=tag\ Value1 f=100 1", {"tag Key1": "tag Value1"}, {"f": 100.0}),
        (r'm,tagKey=🍭 fieldKey="Launch 🚀" 1', {"tagKey": "🍭"}, {"fieldKey": "Launch 🚀"}),
        (r'm f="\"string\" within a string",i=1i,b=true 1', {}, {"f": '"string" within a string', "i": 1, "b": True}),
        (r"my\ Measurement f=1e3 1", {}, {"f": 1000.0}),
    ],
)
def test_the_strict_reader_reads_what_the_reference_shows(line: str, tags: object, fields: object) -> None:
    point = parse(line)
    assert (dict(point.tags), dict(point.fields)) == (tags, fields)


@pytest.mark.parametrize(
    "line",
    ["m f=1", "m 1", ",t=a f=1 1", "m,t= f=1 1", "m,t f=1 1", "m f=nan 1", "m f=inf 1", 'm f="a 1', "m f=1,f=2 1",
     "m,t=a,t=b f=1 1", "m f=1 1.5", "m f= 1", "m,t=a\\ f=1", "m  f=1 1", "m f=1 1 ", "_m f=1 1"],
)  # fmt: skip
def test_the_strict_reader_refuses_what_is_no_line(line: str) -> None:
    with pytest.raises(Malformed):
        parse(line)


@given(NAMES, NAMES, NAMES, NUMBERS, st.integers(-(2**50), 2**50))
def test_every_reading_is_one_perfect_line(probe: str, name: str, unit: str, value: float, at_ms: int) -> None:
    (line,) = reading_lines(a_channel(probe, name), [(at_ms, value, 5, -7, 3)], {5: unit})
    point = parse(line)
    assert point.measurement == "reading"
    assert dict(point.tags) == {"probe": named(probe), "field": named(name), "quantity": "temperature"}
    assert dict(point.fields) == {"value": value, "unit": named(unit), "lag_ms": -7, "mark": 3}
    assert point.time == at_ms


@given(NAMES, NUMBERS, NUMBERS, NUMBERS)
def test_every_rollup_is_one_perfect_line(unit: str, low: float, high: float, mean: float) -> None:
    (line,) = rollup_lines(a_channel(quantity=None), [(600_000, 5, 10, low, high, mean, 599_000, 0.5)], {5: unit})
    point = parse(line)
    assert dict(point.tags) == {"probe": "cellar-1", "field": "temperature", "unit": named(unit)}
    assert dict(point.fields) == {
        "count": 10,
        "low": low,
        "high": high,
        "mean": mean,
        "covered_ms": 599_000,
        "spread": 0.5,
    }


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_a_value_that_is_no_number_has_no_line(value: float) -> None:
    assert list(reading_lines(a_channel(), [(0, value, 1, 0, 0)], {1: "Cel"})) == []
    assert list(rollup_lines(a_channel(), [(0, 1, 1, 1.0, 1.0, value, 1, 0.0)], {1: "Cel"})) == []


@pytest.mark.parametrize(
    ("text", "expected"), [('a"b', r'"a\"b"'), ("a\\b", r'"a\\b"'), ("${x}", r'"\${x}"'), ("$x", '"$x"')]
)
def test_a_text_in_a_question_is_only_a_text(text: str, expected: str) -> None:
    # Source: Flux language specification, "String literals": backslash, quote and "${" are escaped by a backslash.
    assert flux_string(text) == expected
