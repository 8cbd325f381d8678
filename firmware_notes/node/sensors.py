"""What hangs on this probe, read one after the other; one that fails does not hold up the rest."""

from . import pack
from .faults import SensorFault

RAW_PER_STEP = 10000 // 16  # A sixteenth of a degree in steps of 0.0001 degree.


class Sensors:
    """`air`, `surface`, `load` are drivers or None; door and battery come from the board."""

    def __init__(self, board, settings, air=None, surface=None, load=None):
        self.board, self.settings = board, settings
        self.air, self.surface, self.load = air, surface, load

    def read(self, air_is_settled):
        """(records, faults): what could be read, and in words what could not."""
        readers = [self._read_door, self._read_battery]
        if self.air and air_is_settled:
            readers.append(self._read_air)
        if self.surface:
            readers.append(self._read_surface)
        if self.load:
            readers.append(self._read_load)
        records, faults = [], []
        for reader in readers:
            try:
                records += reader()
            except (SensorFault, OSError) as fault:
                faults.append(str(fault))
        return records, faults

    def _read_air(self):
        temperature_c, humidity_pct = self.air.read()
        return [
            (pack.TEMPERATURE, round(temperature_c * 100)),
            (pack.HUMIDITY, round(humidity_pct * 100)),
        ]

    def _read_surface(self):
        return [(pack.SURFACE_TEMPERATURE, self.surface.read() * RAW_PER_STEP)]

    def _read_load(self):
        return [(pack.WEIGHT, self.load.read())]

    def _read_door(self):
        is_open = self.board.door_is_open()
        return [] if is_open is None else [(pack.DOOR, int(is_open))]

    def _read_battery(self):
        millivolts = self.board.battery_mv()
        if millivolts is None:
            return []
        return [
            (pack.BATTERY, battery_pct(millivolts, self.settings)),
            (pack.BATTERY_VOLTAGE, millivolts),
        ]


def battery_pct(millivolts, settings):
    """How full, by a straight line from empty to full: a hint when to look, not a measurement."""
    empty, full = settings.BATTERY_EMPTY_MV, settings.BATTERY_FULL_MV
    return min(100, max(0, (millivolts - empty) * 100 // (full - empty)))
