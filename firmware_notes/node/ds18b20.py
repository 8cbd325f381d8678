"""DS18B20 on 1-Wire: for a ceiling, a wall or a shelf. The power-on 85 C and all zeros are refused.

Source: DS18B20 data sheet (scratchpad, temperature register, 750 ms at 12 bit); the checksum is
Maxim's (application note 27): reflected polynomial 0x8C, start 0, and data with its checksum gives 0.
"""

from .faults import SensorFault

FAMILY = 0x28
CONVERT, READ_SCRATCHPAD, SKIP_ROM = 0x44, 0xBE, 0xCC
CONVERSION_MS = 750
TRIES = 3
POWER_ON_RAW = 0x0550  # 85 C: what the register holds before the first conversion.
LOWEST_C, HIGHEST_C = -55, 125


def crc8(data):
    """Maxim's 1-Wire checksum; 0 over data that ends with its own checksum."""
    crc = 0
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = (crc >> 1) ^ 0x8C if crc & 1 else crc >> 1
    return crc


def sixteenths(scratchpad):
    """Sixteenths of a degree C from nine scratchpad bytes, or SensorFault saying why not."""
    if not any(scratchpad):
        raise SensorFault("all zeros: data line shorted or no sensor")  # Zeros pass the checksum.
    if crc8(scratchpad):
        raise SensorFault("checksum wrong: %s" % " ".join("%02x" % byte for byte in scratchpad))
    raw = scratchpad[1] << 8 | scratchpad[0]
    if raw == POWER_ON_RAW:
        raise SensorFault("85 C: no conversion took place (power or pull-up)")
    raw = raw - 0x10000 if raw & 0x8000 else raw
    if not LOWEST_C * 16 <= raw <= HIGHEST_C * 16:
        raise SensorFault("impossible temperature %.1f C" % (raw / 16))
    return raw


class Ds18b20:
    """The only sensor on its wire, or the one whose sixteen hex digits the settings name."""

    def __init__(self, wire, wait_ms, rom_hex=None):
        self.wire, self.wait_ms, self.rom_hex = wire, wait_ms, rom_hex

    def read(self):
        """Sixteenths of a degree C; tries three times, then gives up."""
        last = None
        for _ in range(TRIES):
            try:
                return self._measure()
            except (OSError, SensorFault) as fault:
                last = fault
        raise SensorFault("ds18b20: no good answer in %d tries (%s)" % (TRIES, last))

    def _measure(self):
        rom = self._rom()
        self._reset()
        self.wire.writebyte(SKIP_ROM)
        self.wire.writebyte(CONVERT)
        self.wait_ms(CONVERSION_MS)
        self._reset()
        self.wire.select_rom(rom)
        self.wire.writebyte(READ_SCRATCHPAD)
        scratchpad = bytearray(9)
        self.wire.readinto(scratchpad)
        return sixteenths(scratchpad)

    def _rom(self):
        if self.rom_hex:
            return bytes(int(self.rom_hex[at : at + 2], 16) for at in range(0, 16, 2))
        found = [rom for rom in self.wire.scan() if rom[0] == FAMILY and not crc8(rom)]
        if len(found) != 1:
            names = ", ".join("".join("%02x" % byte for byte in rom) for rom in found)
            raise SensorFault("%d sensors on the wire, one expected: %s" % (len(found), names))
        return found[0]

    def _reset(self):
        if not self.wire.reset():
            raise SensorFault("no sensor answers on the wire")
