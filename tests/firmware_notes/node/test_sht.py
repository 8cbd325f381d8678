"""SHT4x and SHT3x: the data sheets' checksum example and conversion formulas, and what is refused."""

from firmware_notes.node import sht
from firmware_notes.node.faults import SensorFault
from tests.firmware_notes.node.fakes import FakeI2c, refused, sht_answer

# SHT3x-DIS data sheet, version 5, table 20: CRC(0xBEEF) = 0x92. The others were computed bit by bit
# from that table's polynomial 0x31 and start 0xFF by a program that is not part of this project; F7 over
# "123456789" is the check value that CRC catalogues give for the same parameters (from memory).
CHECKSUMS = (
    (b"\xbe\xef", 0x92),
    (b"\x00\x00", 0x81),
    (b"\x66\x66", 0x93),
    (b"\x80\x00", 0xA2),
    (b"\xff\xff", 0xAC),
    (b"\x53\x61", 0xC1),
    (b"\xd9\x17", 0x52),
    (b"123456789", 0xF7),
)

# (raw t, raw RH, degrees C, %RH by SHT3x, %RH by SHT4x before cutting): formulas of the SHT3x-DIS data
# sheet, section 4.13, and of the pseudo code in the SHT4x data sheet, computed apart from this project.
CONVERSIONS = (
    (0x0000, 0x0000, -45.0, 0.0, -6.0),
    (0x6666, 0x8000, 25.0, 50.000763, 56.500954),
    (0xBEEF, 0xBEEF, 85.523003, 74.584573, 87.230716),
    (0x5361, 0xEA60, 11.998169, 91.554131, 108.442664),
    (0x5361, 0xD917, 11.998169, 84.802014, 100.002518),
    (0xFFFF, 0xFFFF, 130.0, 100.0, 119.0),
)


def no_wait(duration_ms):
    """Time does not matter to a fake sensor."""


def close_to(found, expected):
    return abs(found - expected) < 1e-6


def test_checksum_agrees_with_the_data_sheet():
    for data, expected in CHECKSUMS:
        assert sht.crc8(data) == expected, data


def test_conversions_agree_with_the_data_sheets():
    for raw_t, raw_rh, temperature_c, by_sht3x, by_sht4x in CONVERSIONS:
        assert close_to(sht.celsius(raw_t), temperature_c)
        assert close_to(sht.percent(raw_rh, "sht3x"), by_sht3x)
        assert close_to(sht.percent(raw_rh, "sht4x"), by_sht4x)


def test_humidity_is_cut_to_0_and_100():
    assert sht.climate(sht_answer(0x5361, 0xEA60), "sht4x")[1] == 100
    assert sht.climate(sht_answer(0x5361, 0x0000), "sht4x")[1] == 0


def test_a_wrong_checksum_is_refused():
    answer = bytearray(sht_answer(0x5361, 0xD917))
    for at in range(6):
        broken = bytearray(answer)
        broken[at] ^= 0x10
        assert "checksum wrong" in refused(lambda: sht.climate(bytes(broken), "sht3x"), SensorFault)  # noqa: B023


def test_a_short_answer_is_refused():
    assert "5 bytes" in refused(lambda: sht.climate(b"\0" * 5, "sht3x"), SensorFault)


def test_impossible_temperatures_are_refused():
    for raw_t in (0x0000, 0xFFFF):
        assert "impossible" in refused(lambda: sht.climate(sht_answer(raw_t, 0x8000), "sht4x"), SensorFault)  # noqa: B023


def test_one_garbled_answer_is_read_again():
    bus = FakeI2c([b"\1\2\3\4\5\6", sht_answer(0x5361, 0xD917)])
    temperature_c, humidity_pct = sht.Sht(bus, no_wait, "sht3x").read()
    assert close_to(temperature_c, 11.998169)
    assert close_to(humidity_pct, 84.802014)
    measure, reset = b"\x24\x00", b"\x30\xa2"
    assert bus.written == [(0x44, measure), (0x44, reset), (0x44, measure)]


def test_sht4x_is_asked_as_its_data_sheet_says():
    waited = []
    bus = FakeI2c([sht_answer(0x6666, 0x8000)])
    sht.Sht(bus, waited.append, "sht4x").read()
    assert bus.written == [(0x44, b"\xfd")]
    assert waited == [10]


def test_a_sensor_that_never_answers_is_a_fault_after_three_tries():
    bus = FakeI2c([OSError(19)])
    said = refused(sht.Sht(bus, no_wait, "sht4x").read, SensorFault)
    assert said.startswith("sht4x: no good answer in 3 tries")
    assert [data for _, data in bus.written].count(b"\xfd") == 3


def test_sht4x_heats_no_more_than_a_tenth_of_the_time():
    waited = []
    bus = FakeI2c([sht_answer(0x6666, 0x8000)])
    sht.Sht(bus, waited.append, "sht4x").heat(3)
    assert [data for _, data in bus.written] == [b"\x39"] * 3
    pulses_ms = 3 * 1000
    assert pulses_ms <= 0.1 * sum(waited)


def test_sht3x_heater_is_switched_off_again():
    bus = FakeI2c([b""])
    sht.Sht(bus, no_wait, "sht3x").heat(2)
    assert [data for _, data in bus.written] == [b"\x30\x6d", b"\x30\x66"]
