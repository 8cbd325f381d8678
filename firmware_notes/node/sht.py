"""SHT4x and SHT3x on I2C: checksum, retry, heating at intervals, nothing impossible passes.

Sources: SHT3x-DIS data sheet, version 5 (May 2018), tables 9, 16 and 20 and section 4.13;
SHT4x data sheet version 6 (February 2023), pseudo code on page 1. SHT4x heater and reset codes: as in
the drivers of a chip maker and of two operating systems; the data sheet's own page was not seen.
"""

from .faults import SensorFault

ADDRESS = 0x44
TRIES = 3
LOWEST_C, HIGHEST_C = -40, 125  # What both data sheets call the operating range.

# kind: measure, wait for it [ms], reset, humidity at a raw word of 0 [%], span to 0xFFFF [%]
KINDS = {
    "sht4x": (b"\xfd", 10, b"\x94", -6, 125),
    "sht3x": (b"\x24\x00", 16, b"\x30\xa2", 0, 100),
}
PULSE_SHT4X = b"\x39"  # 200 mW for one second, then a measurement.
PULSE_MS, PAUSE_MS = 1100, 9900  # The heater is made for at most a tenth of the sensor's life.
HEATER_ON_SHT3X, HEATER_OFF_SHT3X = b"\x30\x6d", b"\x30\x66"


def crc8(data):
    """Checksum of two data bytes: polynomial 0x31, start 0xFF; crc8(BE EF) is 92."""
    crc = 0xFF
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = (crc << 1) ^ 0x31 if crc & 0x80 else crc << 1
            crc &= 0xFF
    return crc


def celsius(raw):
    """Degrees C from a raw word, 0..65535; the same for both kinds."""
    return -45 + 175 * raw / 65535


def percent(raw, kind):
    """Relative humidity in % from a raw word, before it is cut to 0..100."""
    _, _, _, zero, span = KINDS[kind]
    return zero + span * raw / 65535


def words(answer):
    """The two raw words of a six-byte answer, or SensorFault when a checksum is wrong."""
    if len(answer) != 6:
        raise SensorFault("answer of %d bytes instead of 6" % len(answer))
    for start in (0, 3):
        if crc8(answer[start : start + 2]) != answer[start + 2]:
            raise SensorFault("checksum wrong: %s" % " ".join("%02x" % byte for byte in answer))
    return answer[0] << 8 | answer[1], answer[3] << 8 | answer[4]


def climate(answer, kind):
    """(degrees C, %RH cut to 0..100) of an answer; a temperature outside -40..125 is refused."""
    raw_t, raw_rh = words(answer)
    temperature_c = celsius(raw_t)
    if not LOWEST_C <= temperature_c <= HIGHEST_C:
        raise SensorFault("impossible temperature %.1f C" % temperature_c)
    return temperature_c, min(100, max(0, percent(raw_rh, kind)))


class Sht:
    """One sensor on a bus; `wait_ms` waits and keeps the watchdog quiet meanwhile."""

    def __init__(self, i2c, wait_ms, kind="sht4x", address=ADDRESS):
        self.i2c, self.wait_ms, self.kind, self.address = i2c, wait_ms, kind, address

    def read(self):
        """(degrees C, %RH); tries three times with a reset between, then gives up."""
        last = None
        for _ in range(TRIES):
            try:
                return self._measure()
            except (OSError, SensorFault) as fault:
                last = fault
                self._reset()
        raise SensorFault("%s: no good answer in %d tries (%s)" % (self.kind, TRIES, last))

    def heat(self, pulses):
        """Drives water and creep out of the sensor; no reading is good until it has cooled."""
        if self.kind == "sht4x":
            self._heat_in_pulses(pulses)
        else:
            self._heat_at_a_stretch(pulses)

    def _measure(self):
        measure, duration_ms, _, _, _ = KINDS[self.kind]
        self.i2c.writeto(self.address, measure)
        self.wait_ms(duration_ms)
        return climate(self.i2c.readfrom(self.address, 6), self.kind)

    def _reset(self):
        try:
            self.i2c.writeto(self.address, KINDS[self.kind][2])
        except OSError:
            pass  # A sensor that is not there cannot be reset; the next try says so.
        self.wait_ms(10)

    def _heat_in_pulses(self, pulses):
        for _ in range(pulses):
            self.i2c.writeto(self.address, PULSE_SHT4X)
            self.wait_ms(PULSE_MS)
            self.i2c.readfrom(self.address, 6)
            self.wait_ms(PAUSE_MS)

    def _heat_at_a_stretch(self, pulses):
        # This heater is weak, so it may stay on for as long as the pulses and pauses of the other.
        self.i2c.writeto(self.address, HEATER_ON_SHT3X)
        self.wait_ms(pulses * (PULSE_MS + PAUSE_MS))
        self.i2c.writeto(self.address, HEATER_OFF_SHT3X)
