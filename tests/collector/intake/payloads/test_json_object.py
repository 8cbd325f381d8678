"""Plain JSON from any device. The objects are invented; pointers by RFC 6901."""

import json

import pytest

from collector.errors import ReadingRejected
from collector.intake.payloads import UNTIMED, FieldHint, FieldHints, WireTime, decode


def read(said, hints=None):
    return decode("cellar/box", json.dumps(said).encode(), hints)


def rows(decoded):
    return [(r.field, r.value, r.unit, r.quantity) for r in decoded.readings]


def test_every_number_is_offered_under_its_pointer():
    decoded = read({"temperature": 12.4, "SHT": {"Temp": 12.1, "Humidity": 87}, "n": [1, {"a/b~c": 2}], "name": "x"})
    assert (decoded.probe, decoded.format) == ("cellar/box", "json_object")
    assert rows(decoded) == [
        ("/temperature", 12.4, "Cel", "temperature"),
        ("/SHT/Temp", 12.1, "Cel", "temperature"),
        ("/SHT/Humidity", 87.0, "%RH", "humidity"),
        ("/n/0", 1.0, "", None),
        ("/n/1/a~1b~0c", 2.0, "", None),  # RFC 6901 section 3: / is ~1 and ~ is ~0
    ]
    assert decoded.refused == ()


def test_the_value_helps_to_tell_the_unit():
    assert rows(read({"pressure": 1009.3, "vbat": 3912}))[0] == ("/pressure", 1009.3, "hPa", "pressure")
    assert rows(read({"pressure": 100930, "vbat": 3912})) == [
        ("/pressure", 100930.0, "Pa", "pressure"),
        ("/vbat", 3912.0, "mV", "battery_voltage"),
    ]


def test_numbers_in_text_count_and_other_text_does_not():
    decoded = read({"temp": "12,4", "humidity": "87 %", "weight": "2.4 kg", "note": "3rd floor", "id": "x7"})
    assert rows(decoded) == [
        ("/temp", 12.4, "Cel", "temperature"),
        ("/humidity", 87.0, "%", "humidity"),
        ("/weight", 2.4, "kg", "weight"),
    ]
    assert decoded.refused == ()


def test_a_named_value_that_is_no_number_is_noted():
    decoded = read({"temperature": None, "humidity": "ERROR", "co2": True, "battery": {"voltage": None}, "x": 1})
    assert rows(decoded) == [("/x", 1.0, "", None)]
    assert decoded.refused == (
        ("/temperature", "must be a number, got nothing"),
        ("/humidity", "must be a number, got text 'ERROR'"),
        ("/co2", "must be a number, got true"),
        ("/battery/voltage", "must be a number, got nothing"),
    )


def test_doors_may_be_switches_or_words_and_other_switches_are_nothing():
    decoded = read({"door": True, "contact": True, "lid": "closed", "hatch": "ON", "charging": True, "on": "ON"})
    assert rows(decoded) == [
        ("/door", 1.0, "open", "door"),
        ("/contact", 1.0, "closed", "door"),
        ("/lid", 0.0, "open", "door"),
        ("/hatch", 1.0, "open", "door"),
    ]


def test_a_unit_may_stand_beside_its_value():
    decoded = read({"temperature": {"value": 54, "unit": "F", "place": "hall"}, "humidity": {"value": 80, "unit": "?"}})
    assert rows(decoded) == [
        ("/temperature/value", 54.0, "degF", "temperature"),
        ("/humidity/value", 80.0, "?", None),  # a unit that nobody knows is no guess
    ]
    assert decoded.refused == ()


@pytest.mark.parametrize(
    ("key", "value", "ms"),
    [
        ("time", 1764000000, 1764000000000),
        ("timestamp", 1764000000123, 1764000000123),
        ("ts", "1764000000", 1764000000000),
        ("Time", "2025-11-24T17:00:00+01:00", 1764000000000),
    ],
)
def test_an_obvious_time_is_the_time(key, value, ms):
    decoded = read({"temperature": 12, key: value, "deep": {"humidity": 80}})
    assert [r.time for r in decoded.readings] == [WireTime.absolute(ms)] * 2
    assert decoded.refused == ()


def test_a_time_further_in_is_nearer():
    decoded = read({"ts": 1764000000, "a": {"ts": 1764000060, "temp": 1}, "b": {"temp": 2}})
    assert [r.time.absolute_ms for r in decoded.readings] == [1764000060000, 1764000000000]


def test_a_local_time_is_not_taken_for_utc():
    decoded = read({"temperature": 12, "Time": "2026-01-05T12:00:00"})
    assert decoded.readings[0].time == UNTIMED
    assert decoded.refused == (
        ("/Time", "text '2026-01-05T12:00:00' has no time zone, so it is not used; the time of arrival is"),
    )


def test_of_two_times_the_usable_one_counts():
    decoded = read({"temperature": 12, "Time": "2026-01-05T12:00:00", "ts": 1764000000})
    assert decoded.readings[0].time == WireTime.absolute(1764000000000)
    assert decoded.refused == ()


def test_a_person_points_at_fields():
    hints = FieldHints(
        fields={"/a/x": FieldHint("weight", "g", "scale"), "/a/y": FieldHint("humidity"), "/a/none": FieldHint("co2")}
    )
    decoded = read({"a": {"x": 2400, "y": "80", "z": 5}}, hints)
    assert rows(decoded) == [
        ("scale", 2400.0, "g", "weight"),
        ("/a/y", 80.0, "%RH", "humidity"),
        ("/a/z", 5.0, "", None),
    ]


def test_a_person_may_want_only_what_was_pointed_at():
    hints = FieldHints(fields={"/x": FieldHint("co2")}, others=False)
    assert rows(read({"x": 900, "temperature": 12}, hints)) == [("/x", 900.0, "ppm", "co2")]


def test_a_pointed_field_that_is_no_number_is_noted():
    hints = FieldHints(fields={"/x": FieldHint("co2")})
    assert read({"x": "ERR", "y": 1}, hints).refused == (("/x", "must be a number, got text 'ERR'"),)


def test_a_pointed_field_is_reached_at_any_depth():
    said = {"value": 80}
    for name in "hgfedcba":
        said = {name: said}
    hints = FieldHints(fields={"/a/b/c/d/e/f/g/h/value": FieldHint("humidity")})
    decoded = read(said, hints)
    assert rows(decoded) == [("/a/b/c/d/e/f/g/h/value", 80.0, "%RH", "humidity")]
    assert read({"x": 1, "deep": said}).refused == (("/deep/a/b/c/d/e", "is nested deeper than 6 levels"),)


@pytest.mark.parametrize(
    ("form", "value", "ms"),
    [
        ("s", 1764000000, 1764000000000),
        ("ms", 1764000000123, 1764000000123),
        ("rfc3339", "2025-11-24T16:00:00Z", 1764000000000),
        (None, "2025-11-24T16:00:00Z", 1764000000000),
    ],
)
def test_a_person_points_at_the_time(form, value, ms):
    decoded = read({"at": {"when": value}, "temp": 12, "ts": 5}, FieldHints(time_pointer="/at/when", time_form=form))
    assert [(r.field, r.time.absolute_ms) for r in decoded.readings] == [("/temp", ms)]
    assert decoded.refused == ()


def test_a_pointed_time_that_is_missing_is_noted():
    decoded = read({"temp": 12}, FieldHints(time_pointer="/when"))
    assert decoded.readings[0].time == UNTIMED
    assert decoded.refused == (("/when", "must be a number, got nothing"),)


@pytest.mark.parametrize("said", [{}, [], {"a": "b"}, {"a": {"b": [None, True]}}, ["x"]])
def test_json_without_a_number_is_rejected(said):
    with pytest.raises(ReadingRejected, match="no number in the JSON"):
        read(said)


def test_numbers_that_are_none_cost_only_themselves():
    decoded = decode("cellar/box", b'{"temp":1e999,"humidity":NaN,"co2":-Infinity,"x":' + b"9" * 400 + b',"y":1}')
    assert rows(decoded) == [("/y", 1.0, "", None)]
    assert [field for field, _ in decoded.refused] == ["/temp", "/humidity", "/co2", "/x"]


def test_names_that_cannot_be_shown_or_are_too_long_are_refused():
    decoded = read({"a\x00": 1, "\ud800": 2, "x" * 300: 3, "y": 4, "z" * 300: "text"})
    assert rows(decoded) == [("/y", 4.0, "", None)]
    assert len(decoded.refused) == 3
    assert all(field.isprintable() and len(field) <= 200 for field, _ in decoded.refused)


def test_a_thousand_numbers_are_the_most():
    decoded = read({f"k{i}": i for i in range(1500)})
    assert len(decoded.readings) == 1000
    assert decoded.refused == (("/k1000", "a message must hold at most 1000 numbers"),)


def test_a_list_that_is_no_senml_is_plain_json():
    assert rows(read([{"temp": 12}])) == [("/0/temp", 12.0, "Cel", "temperature")]
