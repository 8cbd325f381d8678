"""What a SenML pack becomes for a probe: fields, quantities, times, marks. The contract is our own."""

import json

import pytest

from collector.intake.payloads import UNTIMED, FieldHint, FieldHints, WireTime, decode
from collector.intake.payloads.senml_readings import wire_time
from collector.intake.payloads.wire_numbers import Unreadable


def read(pack, topic="rindwatch/cellar-1/readings", hints=None):
    return decode(topic, json.dumps(pack).encode(), hints)


def rows(decoded):
    return [(r.field, r.value, r.unit, r.quantity) for r in decoded.readings]


def test_a_pack_of_our_own_probe_is_understood():
    decoded = read(
        [
            {"bn": "cellar-1/", "bt": 1764000000.123, "n": "temperature", "u": "Cel", "v": 12.31},
            {"n": "humidity", "u": "%RH", "v": 86.4},
            {"n": "door", "t": -30, "vb": True},
            {"n": "label", "vs": "by the stairs"},
            {"n": "boot", "vs": "5f3a"},
            {"n": "seq", "v": 17},
        ]
    )
    assert (decoded.probe, decoded.boot, decoded.seq, decoded.format) == ("cellar-1", "5f3a", 17, "senml_json")
    assert rows(decoded) == [
        ("temperature", 12.31, "Cel", "temperature"),
        ("humidity", 86.4, "%RH", "humidity"),
        ("door", 1.0, "open", "door"),
    ]
    assert [r.time.absolute_ms for r in decoded.readings] == [1764000000123, 1764000000123, 1763999970123]
    assert decoded.refused == ()


@pytest.mark.parametrize(
    ("name", "field"),
    [
        ("temperature", "temperature"),
        ("cellar-1/temperature", "temperature"),
        ("cellar-1:temperature", "temperature"),
        ("urn:dev:mac:cellar-1:temperature", "temperature"),
        ("urn:dev:os:32473-cellar-1_temperature", "temperature"),  # RFC 9039 sections 4.4 and 3.2
        ("cellar-1", "temperature"),
        ("cellar-1/", "temperature"),
        ("", "temperature"),
        ("cellar-12/temperature", "cellar-12/temperature"),
        ("cellar-1-temperature", "cellar-1-temperature"),
        ("attic/temperature", "attic/temperature"),
        ("urn:dev:mac:attic:temperature", "urn:dev:mac:attic:temperature"),
    ],
)
def test_the_field_is_the_name_without_the_probe(name, field):
    assert [r.field for r in read([{"n": name, "u": "Cel", "v": 1}]).readings] == [field]


def test_two_devices_in_one_pack_stay_apart():
    pack = [{"bn": f"{device}/", "n": "temperature", "u": "Cel", "v": 1} for device in ("attic", "cellar-1", "barn")]
    assert [r.field for r in read(pack).readings] == ["attic/temperature", "temperature", "barn/temperature"]


def test_records_with_only_a_base_name_are_kept_under_what_they_measure():
    # RFC 8428 section 5.1.3 has humidity, position and battery under one base name.
    pack = [{"bn": "cellar-1", "u": "%RH", "v": 80}, {"u": "Cel", "v": 12}, {"u": "lon", "v": 24.3}, {"v": 1}]
    assert rows(read(pack)) == [
        ("humidity", 80.0, "%RH", "humidity"),
        ("temperature", 12.0, "Cel", "temperature"),
        ("lon", 24.3, "lon", None),
        ("value", 1.0, "", None),
    ]
    assert [r.field for r in read(pack, "barn").readings][:3] == [
        "cellar-1:humidity",
        "cellar-1:temperature",
        "cellar-1:lon",
    ]


def test_one_name_with_two_units_is_two_fields():
    pack = [
        {"n": "sht", "u": "Cel", "v": 12},
        {"n": "sht", "u": "%RH", "v": 80},
        {"n": "sht", "u": "Cel", "t": -9, "v": 13},
    ]
    assert [r.field for r in read(pack).readings] == ["sht", "sht:humidity", "sht"]


@pytest.mark.parametrize(
    ("record", "row"),
    [
        ({"n": "temperature", "v": 12}, ("temperature", 12.0, "", None)),  # SenML needs a unit to mean one
        ({"n": "Höhle", "u": "Cel", "v": 12}, ("Höhle", 12.0, "Cel", None)),
        ({"n": "-a", "u": "Cel", "v": 12}, ("-a", 12.0, "Cel", None)),
        ({"n": "current", "u": "A", "v": 1}, ("current", 1.0, "A", None)),
        ({"n": "temperature", "u": "C", "v": 1}, ("temperature", 1.0, "Cel", "temperature")),
        ({"n": "temperature", "u": "degF", "v": 54}, ("temperature", 54.0, "degF", "temperature")),
        ({"n": "humidity", "u": "/", "v": 0.8}, ("humidity", 0.8, "/", "humidity")),
        ({"n": "x", "u": "K", "v": 285}, ("x", 285.0, "K", "temperature")),
        ({"n": "wall", "u": "Cel", "v": 9}, ("wall", 9.0, "Cel", "surface_temperature")),
        ({"n": "battery", "u": "V", "v": 3.9}, ("battery", 3.9, "V", "battery_voltage")),
        ({"n": "door", "v": 1}, ("door", 1.0, "open", "door")),
        ({"n": "door", "u": "/", "v": 0}, ("door", 0.0, "/", "door")),
        ({"n": "contact", "vb": True}, ("contact", 1.0, "closed", "door")),
    ],
)
def test_a_number_is_kept_whatever_its_name_and_unit(record, row):
    decoded = read([record])
    assert rows(decoded) == [row]
    assert decoded.refused == ()


def test_text_data_and_other_switches_are_no_readings_and_no_faults():
    decoded = read([{"n": "a", "vs": "12"}, {"n": "b", "vd": "aGk"}, {"n": "fan", "vb": True}])
    assert decoded.readings == decoded.refused == ()


def test_a_wrong_record_costs_only_itself():
    decoded = read([{"n": "a", "v": "12"}, 5, {"n": "b", "s": 3}, {"n": "c", "v": 1, "t": "noon"}, {"n": "d", "v": 1}])
    assert [r.field for r in decoded.readings] == ["d"]
    assert decoded.refused == (
        ("a", "v must be a number, got text '12'"),
        ("record 2", "a record must be an object, got 5"),
        ("c", "t must be a number, got text 'noon'"),
        ("b", "has only a sum over time, which is no reading"),
    )


@pytest.mark.parametrize(
    ("record", "reason"),
    [
        ({"n": "boot", "v": 7}, "boot must be vs, text of 1 to 64 characters, got 7"),
        ({"n": "boot", "vs": ""}, "boot must be vs"),
        ({"n": "boot", "vs": "x" * 65}, "boot must be vs"),
        ({"n": "boot", "vs": "a\x00"}, "boot must be vs"),
        ({"n": "seq", "v": 1.5}, "seq must be v, a whole number from 0 to 2^53, got 1.5"),
        ({"n": "seq", "v": -1}, "seq must be v"),
        ({"n": "seq", "v": 2**53}, "seq must be v"),
        ({"n": "seq", "vs": "7"}, "seq must be v"),
        ({"n": "seq", "vb": True}, "seq must be v"),
    ],
)
def test_a_mark_of_the_wrong_kind_is_refused_and_never_a_reading(record, reason):
    decoded = read([record])
    assert (decoded.readings, decoded.boot, decoded.seq) == ((), None, None)
    assert decoded.refused[0][1].startswith(reason)


def test_marks_are_exact_names_of_the_probe_itself():
    decoded = read([{"n": "Boot", "vs": "x"}, {"n": "attic/seq", "v": 1}, {"n": "cellar-1/seq", "v": 2}])
    assert (decoded.boot, decoded.seq) == (None, 2)
    assert [r.field for r in decoded.readings] == ["attic/seq"]


def test_marks_that_contradict_each_other_are_refused():
    decoded = read([{"n": "seq", "v": 1}, {"n": "seq", "v": 1}, {"n": "seq", "v": 2}])
    assert decoded.seq == 1
    assert decoded.refused == (("seq", "must stand once in a pack, got 1 and 2"),)


@pytest.mark.parametrize(
    ("time_s", "time"),
    [
        (None, UNTIMED),
        (0, WireTime.relative(0)),
        (-5.0004, WireTime.relative(-5000)),
        (60, WireTime.relative(60_000)),
        (1764000000.1235, WireTime.absolute(1764000000124)),
        (253_402_300_799, WireTime.absolute(253_402_300_799_000)),
    ],
)
def test_a_time_is_said_in_milliseconds(time_s, time):
    assert wire_time(time_s) == time


@pytest.mark.parametrize("time_s", [61, 86_400, 2**28 - 1, -(2**28), -1e300, 253_402_300_800, 1e300])
def test_a_time_that_no_reading_can_have_is_refused(time_s):
    with pytest.raises(Unreadable, match="time"):
        wire_time(time_s)


def test_an_uptime_sent_as_time_is_refused_with_the_reason():
    decoded = read([{"n": "temperature", "u": "Cel", "t": 86400, "v": 12}])
    assert decoded.refused == (("temperature", "a time without base must count back from now, got 86400 s"),)


def test_names_and_units_that_cannot_be_shown_are_refused():
    pack = [
        {"n": n, "u": u, "v": 1}
        for n, u in (("a\x00", "Cel"), ("b", "C\x00"), ("c" * 201, ""), ("d", "u" * 25), ("\ud800", "V"))
    ]
    decoded = read([*pack, {"n": "e", "u": "V", "v": 1}])
    assert [r.field for r in decoded.readings] == ["e"]
    assert len(decoded.refused) == 5
    assert all(field.isprintable() and len(field) <= 200 for field, _ in decoded.refused)


def test_a_person_may_correct_quantity_unit_and_name():
    hints = FieldHints(fields={"t1": FieldHint("surface_temperature", "degF", "ceiling"), "x": FieldHint("humidity")})
    decoded = read([{"n": "t1", "u": "Cel", "v": 54}, {"n": "x", "v": 80}, {"n": "y", "v": 1}], hints=hints)
    assert rows(decoded) == [
        ("ceiling", 54.0, "degF", "surface_temperature"),
        ("x", 80.0, "%RH", "humidity"),
        ("y", 1.0, "", None),
    ]


def test_a_person_may_want_only_what_was_pointed_at():
    hints = FieldHints(fields={"x": FieldHint("humidity")}, others=False)
    assert [r.field for r in read([{"n": "x", "v": 80}, {"n": "y", "v": 1}], hints=hints).readings] == ["x"]


def test_a_pack_that_is_wrong_throughout_says_so_briefly():
    decoded = read([{"n": f"r{i}"} for i in range(1000)])
    assert len(decoded.refused) == 51
    assert decoded.refused[-1] == ("", "and 950 more")
