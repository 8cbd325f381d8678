"""Every example of RFC 8428 against what it means.

Source of each: RFC 8428 (August 2018), the section in its name. Resolved forms: section 5.1.4 prints its
own; the others follow from the text of section 4 and the files exN.gen.resolved.json that the working group
keeps beside the text (github.com/core-wg/senml-spec). Its file for section 5.1.5 drops the data record, so
that one is by section 4.3: base64url of "hi \\n".
"""

import json

import cbor2
import pytest

from collector.intake.payloads import decode
from collector.intake.payloads.senml import PackRefused, read_pack, resolve
from collector.intake.payloads.wire_numbers import Unreadable

MANY = "urn:dev:ow:10e2073a01080063"
SIX = "urn:dev:ow:10e2073a0108006:"

# Pack, and its records as (name, unit, time, value).
EXAMPLES = {
    "5.1.1 single data point": (
        '[{"n":"urn:dev:ow:10e2073a01080063","u":"Cel","v":23.1}]',
        [(MANY, "Cel", None, 23.1)],
    ),
    "5.1.2 voltage and current now": (
        """[{"bn":"urn:dev:ow:10e2073a01080063:","n":"voltage","u":"V","v":120.1},
            {"n":"current","u":"A","v":1.2}]""",
        [(f"{MANY}:voltage", "V", None, 120.1), (f"{MANY}:current", "A", None, 1.2)],
    ),
    "5.1.2 current of the last seconds": (
        """[{"bn":"urn:dev:ow:10e2073a0108006:","bt":1.276020076001e+09,"bu":"A","bver":5,
             "n":"voltage","u":"V","v":120.1},
            {"n":"current","t":-5,"v":1.2}, {"n":"current","t":-4,"v":1.3}, {"n":"current","t":-3,"v":0.14e1},
            {"n":"current","t":-2,"v":1.5}, {"n":"current","t":-1,"v":1.6}, {"n":"current","v":1.7}]""",
        [
            *((f"{SIX}current", "A", 1276020071.001 + i, v) for i, v in enumerate((1.2, 1.3, 1.4, 1.5, 1.6))),
            (f"{SIX}voltage", "V", 1276020076.001, 120.1),
            (f"{SIX}current", "A", 1276020076.001, 1.7),
        ],
    ),
    "5.1.2 a stream of humidity": (  # the text breaks off at t 80; the repository's ex4 goes on as here
        """[{"bn":"urn:dev:ow:10e2073a01080063","bt":1.320067464e+09,"bu":"%RH","v":21.2},
            {"t":10,"v":21.3}, {"t":20,"v":21.4}, {"t":30,"v":21.4}, {"t":40,"v":21.5}, {"t":50,"v":21.5},
            {"t":60,"v":21.5}, {"t":70,"v":21.6}, {"t":80,"v":21.7}, {"t":90,"v":21.5}, {"t":91,"v":21.5},
            {"t":92,"v":21.5}]""",
        [
            (MANY, "%RH", 1320067464 + t, v)
            for t, v in zip(
                (0, 10, 20, 30, 40, 50, 60, 70, 80, 90, 91, 92),
                (21.2, 21.3, 21.4, 21.4, 21.5, 21.5, 21.5, 21.6, 21.7, 21.5, 21.5, 21.5),
                strict=True,
            )
        ],
    ),
    "5.1.3 with 5.1.4, position and battery between": (
        """[{"bn":"urn:dev:ow:10e2073a01080063","bt":1.320067464e+09,"bu":"%RH","v":20},
            {"u":"lon","v":24.30621}, {"u":"lat","v":60.07965}, {"t":60,"v":20.3},
            {"u":"lon","t":60,"v":24.30622}, {"u":"lat","t":60,"v":60.07965}, {"t":120,"v":20.7},
            {"u":"lon","t":120,"v":24.30623}, {"u":"lat","t":120,"v":60.07966}, {"u":"%EL","t":150,"v":98},
            {"t":180,"v":21.2}, {"u":"lon","t":180,"v":24.30628}, {"u":"lat","t":180,"v":60.07967}]""",
        [
            (MANY, "%RH", 1320067464, 20),
            (MANY, "lon", 1320067464, 24.30621),
            (MANY, "lat", 1320067464, 60.07965),
            (MANY, "%RH", 1320067524, 20.3),
            (MANY, "lon", 1320067524, 24.30622),
            (MANY, "lat", 1320067524, 60.07965),
            (MANY, "%RH", 1320067584, 20.7),
            (MANY, "lon", 1320067584, 24.30623),
            (MANY, "lat", 1320067584, 60.07966),
            (MANY, "%EL", 1320067614, 98),
            (MANY, "%RH", 1320067644, 21.2),
            (MANY, "lon", 1320067644, 24.30628),
            (MANY, "lat", 1320067644, 60.07967),
        ],
    ),
    "5.1.5 multiple data types": (
        """[{"bn":"urn:dev:ow:10e2073a01080063:","n":"temp","u":"Cel","v":23.1},
            {"n":"label","vs":"Machine Room"}, {"n":"open","vb":false}, {"n":"nfv-reader","vd":"aGkgCg"}]""",
        [
            (f"{MANY}:temp", "Cel", None, 23.1),
            (f"{MANY}:label", None, None, "Machine Room"),
            (f"{MANY}:open", None, None, False),
            (f"{MANY}:nfv-reader", None, None, b"hi \n"),
        ],
    ),
    "5.1.6 collection of resources": (  # "the Base Name from the 3rd record but the Base Time from the first"
        """[{"bn":"2001:db8::2/","bt":1.320078429e+09,"n":"temperature","u":"Cel","v":25.2},
            {"n":"humidity","u":"%RH","v":30},
            {"bn":"2001:db8::1/","n":"temperature","u":"Cel","v":12.3}, {"n":"humidity","u":"%RH","v":67}]""",
        [
            ("2001:db8::2/temperature", "Cel", 1320078429, 25.2),
            ("2001:db8::2/humidity", "%RH", 1320078429, 30),
            ("2001:db8::1/temperature", "Cel", 1320078429, 12.3),
            ("2001:db8::1/humidity", "%RH", 1320078429, 67),
        ],
    ),
    "5.1.7 set point, first record only a base": (
        """[{"bn":"urn:dev:ow:10e2073a01080063:"}, {"n":"temp","u":"Cel","v":23.1},
            {"n":"heat","u":"/","v":1}, {"n":"fan","u":"/","v":0}]""",
        [(f"{MANY}:temp", "Cel", None, 23.1), (f"{MANY}:heat", "/", None, 1), (f"{MANY}:fan", "/", None, 0)],
    ),
    "5.1.7 two lights on": (
        """[{"bt":1.320078429e+09,"bu":"/","n":"2001:db8::3","v":1}, {"n":"2001:db8::4","v":1}]""",
        [("2001:db8::3", "/", 1320078429, 1), ("2001:db8::4", "/", 1320078429, 1)],
    ),
    "5.1.7 two lights dimmed, then off": (
        """[{"bt":1.320078429e+09,"bu":"/","n":"2001:db8::3","v":0.5}, {"n":"2001:db8::4","v":0.5},
            {"n":"2001:db8::3","t":0.1,"v":0}, {"n":"2001:db8::4","t":0.1,"v":0}]""",
        [
            ("2001:db8::3", "/", 1320078429, 0.5),
            ("2001:db8::4", "/", 1320078429, 0.5),
            ("2001:db8::3", "/", 1320078429.1, 0),
            ("2001:db8::4", "/", 1320078429.1, 0),
        ],
    ),
    "2 two times, names in full": (
        """[{"n":"urn:dev:ow:10e2073a01080063","u":"Cel","t":1.276020076e+09,"v":23.5},
            {"n":"urn:dev:ow:10e2073a01080063","u":"Cel","t":1.276020091e+09,"v":23.6}]""",
        [(MANY, "Cel", 1276020076, 23.5), (MANY, "Cel", 1276020091, 23.6)],
    ),
    "2 two times, with a base name": (
        """[{"bn":"urn:dev:ow:10e2073a01080063","u":"Cel","t":1.276020076e+09,"v":23.5},
            {"u":"Cel","t":1.276020091e+09,"v":23.6}]""",
        [(MANY, "Cel", 1276020076, 23.5), (MANY, "Cel", 1276020091, 23.6)],
    ),
}

# Section 6, the hexadecimal dump of the example of section 5.1.2.
SECTION_6_CBOR = bytes.fromhex(
    "87a721781b75726e3a6465763a6f773a"
    "3130653230373361303130383030363a"
    "22fb41d303a15b001062236141200500"
    "67766f6c7461676501615602fb405e06"
    "6666666666a3006763757272656e7406"
    "2402fb3ff3333333333333a300676375"
    "7272656e74062302fb3ff4cccccccccc"
    "cda3006763757272656e74062202fb3f"
    "f6666666666666a3006763757272656e"
    "74062102f93e00a3006763757272656e"
    "74062002fb3ff999999999999aa30067"
    "63757272656e74060002fb3ffb333333"
    "333333"
)


def as_rows(records):
    return [(record.name, record.unit, record.time_s, record.value) for record in records]


@pytest.mark.parametrize("section", EXAMPLES)
def test_example_resolves_as_the_rfc_says(section):
    pack, expected = EXAMPLES[section]
    rows = as_rows(resolve(json.loads(pack)))
    assert [(name, unit, value) for name, unit, _, value in rows] == [(n, u, v) for n, u, _, v in expected]
    assert [time for *_, time, _ in rows] == [
        None if t is None else pytest.approx(t, abs=1e-6) for *_, t, _ in expected
    ]


@pytest.mark.parametrize("section", EXAMPLES)
def test_example_is_decoded_by_any_topic(section):
    pack, expected = EXAMPLES[section]
    decoded = decode("rindwatch/cellar/readings", pack.encode())
    numbers = [float(v) for *_, v in expected if not isinstance(v, str | bytes)]
    assert sorted(reading.value for reading in decoded.readings) == sorted(numbers)
    assert decoded.refused == ()
    assert decode("elsewhere", pack.encode()).readings == decoded.readings


def test_the_cbor_dump_of_section_6_is_the_json_of_section_5_1_2():
    name = "5.1.2 current of the last seconds"
    by_cbor = decode("t", SECTION_6_CBOR)
    by_json = decode("t", EXAMPLES[name][0].encode())
    assert by_cbor.format == "senml_cbor"
    assert [(r.field, r.unit, r.value) for r in by_cbor.readings] == [
        (r.field, r.unit, r.value) for r in by_json.readings
    ]
    # The dump gives the last record a time of 0, the JSON leaves it out: section 4.5.3 makes them the same.
    assert [r.time for r in by_cbor.readings] == [r.time for r in by_json.readings]


def test_the_times_of_section_5_1_2_in_milliseconds():
    # "at Tue Jun 8 18:01:16.001 UTC 2010 and at each second for the previous 5 seconds"
    decoded = decode("t", EXAMPLES["5.1.2 current of the last seconds"][0].encode())
    assert [r.time.absolute_ms for r in decoded.readings] == [1276020076001, *range(1276020071001, 1276020077001, 1000)]


def test_every_cbor_label_means_its_json_label():
    # RFC 8428 table 4.
    record = {-2: "p/", -3: 1.7e9, -4: "Cel", -5: 10, -6: 3, -1: 10, 0: "a", 2: 2.5, 5: 4, 6: 1, 7: 60}
    pack = cbor2.dumps(
        [record, {0: "b", 1: "%RH", 2: 70}, {0: "c", 3: "text"}, {0: "d", 4: True}, {0: "e", 8: b"\x00"}]
    )
    decoded = decode("p", pack)
    assert [(r.field, r.value, r.unit) for r in decoded.readings] == [("a", 12.5, "Cel"), ("b", 80.0, "%RH")]
    assert decoded.readings[0].time.absolute_ms == 1_700_000_001_000
    assert decoded.refused == ()


def test_cbor_decimal_fractions_are_numbers():
    # RFC 8428 section 6 allows tag 4; 123 * 10^-1 by RFC 8949 section 3.4.4.
    assert decode("p", bytes.fromhex("81a2006161 02c4 82 20 187b")).readings[0].value == 12.3


# The traps of section 4.


def test_a_negative_time_without_base_counts_back_from_now():  # 4.5.3
    assert resolve([{"n": "a", "t": -5, "v": 1}])[0].time_s == -5
    assert decode("p", b'[{"n":"a","t":-5,"v":1}]').readings[0].time.relative_ms == -5000


def test_the_smallest_absolute_time_is_two_to_the_28():  # 4.5.3: 1978-07-04 21:24:16 UTC
    times = [r.time for r in decode("p", b'[{"n":"a","t":268435456,"v":1},{"n":"b","t":0,"v":1}]').readings]
    assert times[0].absolute_ms == 268435456000
    assert times[1].relative_ms == 0
    assert decode("p", b'[{"n":"a","t":268435455,"v":1}]').readings == ()


def test_an_absolute_time_on_top_of_a_base_time_is_added():  # 4.5.3; the sum is in the year 2053
    assert resolve([{"bt": 1320067464, "n": "a", "t": 1320067464, "v": 1}])[0].time_s == 2640134928


def test_true_is_not_a_number():  # table 2: v is a Number
    pack = read_pack([{"n": "a", "v": True}, {"n": "b", "v": 1}])
    assert [r.name for r in pack.records] == ["b"]
    assert pack.refused == (("a", "v must be a number, got true"),)


@pytest.mark.parametrize("version", [11, 10.5, 0, -1, "10", True, None, 1e999])
def test_a_version_that_is_not_ours_refuses_the_pack(version):  # 4.4: "MUST NOT use this object"
    with pytest.raises(PackRefused, match="SenML version must be"):
        read_pack([{"n": "a", "v": 1}, {"bver": version, "n": "b", "v": 1}])


def test_all_records_have_one_version():  # 4.4
    with pytest.raises(PackRefused, match="one SenML version"):
        read_pack([{"bver": 5, "n": "a", "v": 1}, {"bver": 10, "n": "b", "v": 1}])
    assert len(read_pack([{"bver": 10, "n": "a", "v": 1}, {"bver": 10.0, "n": "b", "v": 1}]).records) == 2


def test_an_unknown_field_is_passed_over_unless_it_must_be_understood():  # 4.4
    pack = read_pack([{"n": "a", "v": 1, "hue": 3}, {"n": "b", "v": 1, "hue_": 3}, {"n": "c", "v": 1}])
    assert [r.name for r in pack.records] == ["a", "c"]
    assert pack.refused == (("b", "the field text 'hue_' must be understood and is not"),)


def test_a_base_field_that_must_be_understood_spoils_what_follows():  # 4.1: it applies to all records after it
    pack = read_pack([{"n": "a", "v": 1}, {"bhue_": 3, "n": "b", "v": 1}, {"n": "c", "v": 1}])
    assert [r.name for r in pack.records] == ["a"]
    assert len(pack.refused) == 2


def test_a_broken_base_spoils_records_until_it_is_replaced():  # 4.1
    pack = read_pack([{"bt": "noon", "n": "a", "v": 1}, {"n": "b", "v": 1}, {"bt": 1.7e9, "n": "c", "v": 1}])
    assert [r.name for r in pack.records] == ["c"]
    assert pack.refused[1] == ("b", "bt must be a number, got text 'noon'")


def test_a_record_needs_one_value_or_a_sum():  # 4.2
    pack = read_pack(
        [{"bn": "x/", "bv": 3}, {"n": "a"}, {"n": "b", "v": 1, "vs": "x"}, {"n": "c", "s": 2.5}, {}, {"x": 1}]
    )
    assert [(r.name, r.value, r.sum) for r in pack.records] == [("x/c", None, 2.5)]
    assert [name for name, _ in pack.refused] == ["x/a", "x/b", "record 5", "record 6"]


def test_base_value_and_base_sum_are_added():  # 4.5.4
    (record, other) = resolve([{"bv": 20, "bs": 100, "n": "a", "v": 0.5}, {"n": "b", "v": 1, "s": 1}])
    assert (record.value, record.sum) == (20.5, 100)
    assert (other.value, other.sum) == (21, 101)


def test_update_time_is_kept():  # 4.2
    assert resolve([{"n": "a", "v": 1, "ut": 300}])[0].update_time_s == 300


def test_resolving_refuses_what_reading_sets_apart():
    with pytest.raises(Unreadable, match="a: must have a value or a sum"):
        resolve([{"n": "a"}])


def test_absolute_times_are_in_order_and_relative_ones_after_them():  # 4.6
    pack = [{"n": n, "t": t, "v": 0} for n, t in (("d", 0), ("b", 1.7e9), ("c", -5), ("a", 1.6e9))]
    assert [r.name for r in resolve(pack)] == ["a", "b", "c", "d"]
