"""The one file that knows the board: an ESP32 with MicroPython. All pins come from the settings."""

import time

import esp32
import machine
import network

from . import clock, ds18b20, link, load_cell, sht
from .faults import LinkDown
from .power import Power
from .sensors import Sensors

SINCE_1970_S = 946684800 if time.gmtime(0)[0] == 2000 else 0
I2C_HZ = 50000  # Slow, for a metre of cable.
WIFI_WAIT_MS = 20000
SOCKET_TIMEOUT_S = 15
DIVIDER = 3  # Three equal resistors, measured across the last one.


def random_number():
    """32 random bits, never 0."""
    import os

    return int.from_bytes(os.urandom(4), "little") or 1


class Board:
    """Clock, memory, radio, pins and sleep of one probe."""

    def __init__(self, settings):
        self.settings = settings
        self.power = Power(machine, time)
        self.wait_ms = self.power.wait_ms
        self.clock = machine.RTC()
        self.wifi = network.WLAN(network.STA_IF)
        self.door = machine.Pin(settings.PIN_DOOR, machine.Pin.IN) if settings.DOOR else None
        self.adc = self._battery_input() if settings.BATTERY else None

    def sensors(self):
        """The sensors that the settings name."""
        return Sensors(self, self.settings, self._air(), self._surface(), self._load())

    def now(self):
        """Seconds since 1970 once the clock is set, else since its zero; rounded, so that no bias adds up."""
        year, month, day, _, hour, minute, second, micros = self.clock.datetime()
        whole = int(time.mktime((year, month, day, hour, minute, second, 0, 0)))
        return whole + SINCE_1970_S + (micros >= 500000)

    def set_clock(self, seconds):
        year, month, day, hour, minute, second, weekday, _ = time.gmtime(seconds - SINCE_1970_S)[:8]
        self.clock.datetime((year, month, day, weekday, hour, minute, second, 0))

    def memory(self):
        return bytes(self.clock.memory())

    def remember(self, data):
        self.clock.memory(data)

    def random(self):
        return random_number()

    def ask_time(self):
        """Seconds since 1970 from the time server; OSError when it does not answer."""
        import os

        self.power.feed()
        return clock.ask(self.settings.TIME_HOST, os.urandom(8))

    def network_up(self):
        """Joins the Wi-Fi; LinkDown after twenty seconds without."""
        self.wifi.active(True)
        if not self.wifi.isconnected():
            self.wifi.connect(self.settings.WIFI_NAME, self.settings.WIFI_PASSWORD)
        waited_ms = 0
        while not self.wifi.isconnected():
            if waited_ms >= WIFI_WAIT_MS:
                raise LinkDown("no Wi-Fi named %s, or a wrong password" % self.settings.WIFI_NAME)
            self.wait_ms(200)
            waited_ms += 200

    def network_down(self):
        self.wifi.active(False)

    def signal_dbm(self):
        """Strength of the Wi-Fi, or None without one."""
        return self.wifi.status("rssi") if self.wifi.isconnected() else None

    def open_link(self):
        """A fresh connection to the broker; LinkDown says why there is none."""
        self.power.feed()
        settings = self.settings
        try:
            authority = None
            if settings.BROKER_CA_FILE:
                with open(settings.BROKER_CA_FILE, "rb") as file:
                    authority = file.read()
            sock = link.open_socket(
                settings.BROKER_HOST,
                settings.BROKER_PORT,
                SOCKET_TIMEOUT_S,
                authority,
                settings.BROKER_CERTIFICATE_NAME,
            )
        except (OSError, ValueError) as error:  # ValueError: a certificate that cannot be read.
            raise LinkDown("no connection to %s: %s" % (settings.BROKER_HOST, error))
        return link.Link(link.Stream(sock))

    def door_is_open(self):
        """The contact lets the pin rise while the door is open; None without a contact."""
        return bool(self.door.value()) if self.door else None

    def battery_mv(self):
        return self.adc.read_uv() * DIVIDER // 1000 if self.adc else None

    def deep_sleep(self, seconds):
        """Wakes after `seconds`, or at once when the door moves."""
        if self.door:
            level = esp32.WAKEUP_ALL_LOW if self.door.value() else esp32.WAKEUP_ANY_HIGH
            esp32.wake_on_ext0(self.door, level)
        self.power.deep_sleep(seconds)

    def restart(self):
        self.power.restart()

    def _air(self):
        kind = self.settings.HUMIDITY_SENSOR
        if not kind:
            return None
        scl, sda = machine.Pin(self.settings.PIN_SCL), machine.Pin(self.settings.PIN_SDA)
        return sht.Sht(machine.I2C(0, scl=scl, sda=sda, freq=I2C_HZ), self.wait_ms, kind)

    def _surface(self):
        if not self.settings.SURFACE_SENSOR:
            return None
        import onewire

        wire = onewire.OneWire(machine.Pin(self.settings.PIN_WIRE))
        return ds18b20.Ds18b20(wire, self.wait_ms, self.settings.SURFACE_ROM)

    def _load(self):
        settings = self.settings
        if not settings.LOAD_CELL:
            return None
        data = machine.Pin(settings.PIN_LOAD_DATA, machine.Pin.IN)
        tick = machine.Pin(settings.PIN_LOAD_CLOCK, machine.Pin.OUT)
        zero, per_kg = settings.LOAD_CELL_ZERO, settings.LOAD_CELL_PER_KG
        return load_cell.LoadCell(data, tick, self.wait_ms, zero, per_kg)

    def _battery_input(self):
        return machine.ADC(machine.Pin(self.settings.PIN_BATTERY), atten=machine.ADC.ATTN_11DB)
