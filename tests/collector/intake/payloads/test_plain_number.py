"""Bare numbers under topics. The topics are invented."""

import pytest

from collector.errors import ReadingRejected
from collector.intake.payloads import UNTIMED, FieldHint, FieldHints, WireReading, decode


@pytest.mark.parametrize(
    ("topic", "payload", "probe", "reading"),
    [
        ("cellar/shelf1/temperature", b"12.4", "cellar/shelf1", ("temperature", 12.4, "Cel", "temperature")),
        ("cellar/shelf1/temperature", b"12,4", "cellar/shelf1", ("temperature", 12.4, "Cel", "temperature")),
        ("cellar/shelf1/temperature", b" 54 F\n", "cellar/shelf1", ("temperature", 54.0, "degF", "temperature")),
        ("cellar/tempF", b"54", "cellar", ("tempF", 54.0, "degF", "temperature")),
        ("cellar/humidity", b"86.4 %", "cellar", ("humidity", 86.4, "%", "humidity")),
        ("cellar/wall_temp", b"9", "cellar", ("wall_temp", 9.0, "Cel", "surface_temperature")),
        ("cellar/pressure", b"1013", "cellar", ("pressure", 1013.0, "hPa", "pressure")),
        ("cellar/pressure", b"101300", "cellar", ("pressure", 101300.0, "Pa", "pressure")),
        ("cellar/door", b"OPEN", "cellar", ("door", 1.0, "open", "door")),
        ("cellar/door", b"1", "cellar", ("door", 1.0, "open", "door")),
        ("cellar/contact", b"ON", "cellar", ("contact", 1.0, "closed", "door")),
        ("temperature", b"12", "temperature", ("temperature", 12.0, "Cel", "temperature")),
        ("cellar/thing", b"7", "cellar/thing", ("value", 7.0, "", None)),
        ("cellar/temperature/north", b"7", "cellar/temperature/north", ("value", 7.0, "Cel", "temperature")),
        ("cellar/target_temperature", b"7", "cellar/target_temperature", ("value", 7.0, "", None)),
        ("rindwatch/cellar-1/readings", b"7", "cellar-1", ("value", 7.0, "", None)),
        ("rindwatch/cellar-1/humidity", b"70", "rindwatch/cellar-1", ("humidity", 70.0, "%RH", "humidity")),
    ],
)
def test_a_number_is_a_reading_of_the_probe_in_its_topic(topic, payload, probe, reading):
    decoded = decode(topic, payload)
    assert decoded.format == "plain_number"
    assert decoded.probe == probe
    assert decoded.readings == (WireReading(*reading, UNTIMED),)


@pytest.mark.parametrize(
    "payload", [b"open", b"hello", b"12 hats", b"12 kg", b"NaN", b"1e999", b"12.4\x00", b"1" * 65, b"\xff", b'"12"']
)
def test_what_is_no_number_is_rejected(payload):
    with pytest.raises(ReadingRejected):
        decode("cellar/temperature", payload)


def test_a_number_under_a_level_too_long_to_keep_is_rejected():
    with pytest.raises(ReadingRejected, match="at most 200 characters"):
        decode("cellar/temperature_" + "x" * 200, b"12")


def test_a_person_may_say_what_the_number_is():
    hints = FieldHints(fields={"value": FieldHint("weight", "g", "scale")})
    assert decode("cellar/thing", b"2400", hints).readings == (WireReading("scale", 2400.0, "g", "weight", UNTIMED),)
    hints = FieldHints(fields={"value": FieldHint("door")})
    assert decode("cellar/thing", b"closed", hints).readings == (WireReading("value", 0.0, "open", "door", UNTIMED),)
