"""DS18B20: the data sheet's temperatures, Maxim's checksum, and what is refused."""

from firmware_notes.node import ds18b20
from firmware_notes.node.faults import SensorFault
from tests.firmware_notes.node.fakes import FakeWire, refused

# Checksums: the ROM is Maxim application note 27's example (from memory); 12 12 A2... is the worked
# example on Maxim's CRC pages; the scratchpad of 25.5 C stands in a public driver's tests; 1C over the
# power-on scratchpad and A1 over "123456789" (a catalogue check value, from memory) were computed apart
# from this project.
CHECKSUMS = (
    ("021cb801000000", 0xA2),
    ("1212a2145f12aa12", 0x6D),
    ("98014b467fff0810", 0x22),
    ("50054b467fff0c10", 0x1C),
    ("313233343536373839", 0xA1),
)

# DS18B20 data sheet, table 1 (temperature and data): 85 C stands apart, it is the power-on value.
TEMPERATURES = (
    (0x07D0, 125.0),
    (0x0191, 25.0625),
    (0x0190, 25.0),
    (0x00A2, 10.125),
    (0x0008, 0.5),
    (0x0000, 0.0),
    (0xFFF8, -0.5),
    (0xFF5E, -10.125),
    (0xFE6F, -25.0625),
    (0xFC90, -55.0),
)


def scratchpad(raw):
    data = bytes((raw & 255, raw >> 8, 0x4B, 0x46, 0x7F, 0xFF, 0x0C, 0x10))
    return data + bytes((ds18b20.crc8(data),))


def rom(last=0x95):
    data = b"\x28\xff\x64\x1e\x0f\x16" + bytes((last,))
    return data + bytes((ds18b20.crc8(data),))


def no_wait(duration_ms):
    """Time does not matter to a fake sensor."""


def test_checksum_agrees_with_the_makers_examples():
    for data, expected in CHECKSUMS:
        data = bytes.fromhex(data)
        assert ds18b20.crc8(data) == expected
        assert ds18b20.crc8(data + bytes((expected,))) == 0


def test_temperatures_agree_with_the_data_sheet():
    for raw, temperature_c in TEMPERATURES:
        assert ds18b20.sixteenths(scratchpad(raw)) == temperature_c * 16


def test_a_public_scratchpad_of_25_5_degrees_is_read():
    assert ds18b20.sixteenths(bytes.fromhex("98014b467fff081022")) == 25.5 * 16


def test_nine_zero_bytes_are_refused_though_they_pass_the_checksum():
    assert ds18b20.crc8(bytes(9)) == 0
    assert "all zeros" in refused(lambda: ds18b20.sixteenths(bytes(9)), SensorFault)


def test_the_power_on_value_is_refused():
    assert "85 C" in refused(lambda: ds18b20.sixteenths(FakeWire.POWER_ON), SensorFault)


def test_a_wrong_checksum_is_refused():
    data = bytearray(scratchpad(0x0191))
    data[0] ^= 1
    assert "checksum wrong" in refused(lambda: ds18b20.sixteenths(data), SensorFault)


def test_temperatures_beyond_the_range_are_refused():
    for raw in (0x07D1, 0xFC8F):
        assert "impossible" in refused(lambda: ds18b20.sixteenths(scratchpad(raw)), SensorFault)  # noqa: B023


def test_a_sensor_is_converted_before_it_is_read():
    waited = []
    wire = FakeWire({rom(): scratchpad(0x0191)})
    assert ds18b20.Ds18b20(wire, waited.append).read() == 25.0625 * 16
    assert wire.commands == [0xCC, 0x44, 0xBE]
    assert waited == [750]


def test_without_presence_pulse_there_is_no_reading():
    wire = FakeWire({rom(): scratchpad(0x0191)}, present=False)
    assert "no sensor answers" in refused(ds18b20.Ds18b20(wire, no_wait).read, SensorFault)


def test_two_sensors_need_a_name_and_their_names_are_told():
    wire = FakeWire({rom(1): scratchpad(0x0191), rom(2): scratchpad(0x00A2)})
    said = refused(ds18b20.Ds18b20(wire, no_wait).read, SensorFault)
    assert "2 sensors on the wire" in said
    named = "".join("%02x" % byte for byte in rom(2))
    assert named in said
    assert ds18b20.Ds18b20(wire, no_wait, named).read() == 10.125 * 16
