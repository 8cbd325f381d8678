"""The board's file on fake pins: the modules that only the chip has are stood in for."""

import sys

from firmware_notes.node.faults import LinkDown
from tests.firmware_notes.node.fakes import refused, sht_answer
from tests.firmware_notes.node.test_main import Settings


class FakePin:
    IN, OUT = 0, 1
    levels = {}  # noqa: RUF012  # one set of pins, as on the chip

    def __init__(self, number, mode=None):
        self.number, self.mode = number, mode

    def value(self, level=None):
        if level is None:
            return FakePin.levels.get(self.number, 0)
        FakePin.levels[self.number] = level
        return level


class FakeBus:
    def __init__(self, bus, scl, sda, freq):
        FakeMachine.bus = (bus, scl.number, sda.number, freq)

    def writeto(self, address, data):
        """Any command is taken."""

    def readfrom(self, address, size):
        return sht_answer(0x6666, 0x8000)


class FakeAdc:
    ATTN_11DB = 3

    def __init__(self, pin, atten):
        self.pin, self.atten = pin, atten

    def read_uv(self):
        return 1500000


class FakeRtc:
    data, shows = b"", (1970, 1, 1, 3, 0, 8, 20, 0)

    def memory(self, data=None):
        if data is None:
            return FakeRtc.data
        FakeRtc.data = data
        return None

    def datetime(self, to=None):
        if to is not None:
            FakeRtc.shows = to
        return FakeRtc.shows


class FakeWatchdog:
    fed = 0

    def __init__(self, timeout):
        FakeWatchdog.timeout = timeout

    def feed(self):
        FakeWatchdog.fed += 1


class FakeMachine:
    Pin, I2C, ADC, RTC, WDT = FakePin, FakeBus, FakeAdc, FakeRtc, FakeWatchdog
    asleep_ms, restarts = None, 0

    @staticmethod
    def deepsleep(duration_ms):
        FakeMachine.asleep_ms = duration_ms

    @staticmethod
    def reset():
        FakeMachine.restarts += 1


class FakeWifi:
    joins_after, is_up = 0, False

    def __init__(self, interface):
        self.interface = interface

    def active(self, on):
        FakeWifi.is_up = on

    def isconnected(self):
        FakeWifi.joins_after -= 1
        return FakeWifi.joins_after < 0

    def connect(self, name, password):
        FakeWifi.joined = (name, password)

    def status(self, what):
        return {"rssi": -58}[what]


class FakeNetwork:
    WLAN, STA_IF = FakeWifi, 0


class FakeEsp32:
    WAKEUP_ALL_LOW, WAKEUP_ANY_HIGH = "low", "high"
    wakes = None

    @staticmethod
    def wake_on_ext0(pin, level):
        FakeEsp32.wakes = (pin.number, level)


class FakeTime:
    """A clock that stands at a moment and only moves while somebody waits."""

    slept_ms = 0

    @staticmethod
    def mktime(moment):
        # Neither Python has the other's way back from a date, and both know gmtime.
        import time

        low, high = 0, 1 << 32
        while low < high:
            middle = (low + high) // 2
            if tuple(time.gmtime(middle))[:6] < tuple(moment)[:6]:
                low = middle + 1
            else:
                high = middle
        return low

    @staticmethod
    def gmtime(seconds):
        import time

        return time.gmtime(seconds)

    @staticmethod
    def sleep_ms(duration_ms):
        FakeTime.slept_ms += duration_ms


def a_board(folder, **changed):
    """A board on fake hardware; its module is loaded with the chip's modules stood in for."""
    sys.modules["machine"], sys.modules["network"] = FakeMachine, FakeNetwork
    sys.modules["esp32"] = FakeEsp32
    from firmware_notes.node import board

    board.time = FakeTime
    FakeWifi.joins_after, FakeTime.slept_ms, FakePin.levels = 0, 0, {}
    return board.Board(Settings(folder, **changed))


def test_the_air_sensor_hangs_on_the_pins_of_the_settings(folder):
    board = a_board(folder, PIN_SDA=18, PIN_SCL=19)
    records, faults = board.sensors().read(True)
    assert FakeMachine.bus == (0, 19, 18, 50000)
    assert faults == []
    assert records == [(0, 2500), (1, 5650)]  # 25 C and 56.5 %, by the SHT4x data sheet's formulas.


def test_the_door_is_open_while_its_pin_is_high(folder):
    board = a_board(folder, DOOR=True)
    assert board.door_is_open() is False
    FakePin.levels[board.settings.PIN_DOOR] = 1
    assert board.door_is_open() is True
    assert a_board(folder).door_is_open() is None


def test_sleep_ends_when_the_door_moves(folder):
    board = a_board(folder, DOOR=True)
    board.deep_sleep(300)
    assert FakeMachine.asleep_ms == 300000
    assert FakeEsp32.wakes == (board.settings.PIN_DOOR, "high")
    FakePin.levels[board.settings.PIN_DOOR] = 1
    board.deep_sleep(300)
    assert FakeEsp32.wakes == (board.settings.PIN_DOOR, "low")


def test_the_divider_gives_a_third_of_the_battery(folder):
    assert a_board(folder, BATTERY=True).battery_mv() == 4500
    assert a_board(folder).battery_mv() is None


def test_the_clock_is_set_to_utc(folder):
    board = a_board(folder)
    FakeRtc.shows = (1970, 1, 1, 3, 0, 8, 20, 0)
    assert board.now() == 500
    board.set_clock(1790000000)
    # 2026-09-21 14:13:20 UTC was a Monday, by the Unix command date.
    assert FakeRtc.shows == (2026, 9, 21, 0, 14, 13, 20, 0)
    assert board.now() == 1790000000


def test_the_clock_is_rounded_not_cut(folder):
    board = a_board(folder)
    FakeRtc.shows = (1970, 1, 1, 3, 0, 8, 20, 499999)
    assert board.now() == 500
    FakeRtc.shows = (1970, 1, 1, 3, 0, 8, 20, 500000)
    assert board.now() == 501


def test_the_network_gets_twenty_seconds(folder):
    board = a_board(folder)
    FakeWifi.joins_after = 5
    board.network_up()
    assert FakeWifi.joined == ("the-network", "change me")
    assert board.signal_dbm() == -58
    FakeWifi.joins_after, FakeTime.slept_ms = 10000, 0
    assert "no Wi-Fi named the-network" in refused(board.network_up, LinkDown)
    assert FakeTime.slept_ms == 20000
    board.network_down()
    assert FakeWifi.is_up is False


def test_waiting_feeds_the_watchdog(folder):
    board = a_board(folder)
    FakeWatchdog.fed = 0
    board.wait_ms(9500)
    assert FakeTime.slept_ms == 9500
    assert FakeWatchdog.fed >= 10
    assert FakeWatchdog.timeout > 60000


def test_a_missing_authority_is_told(folder):
    board = a_board(folder, BROKER_CA_FILE=folder + "/none.der")
    assert "no connection to cave.home.arpa" in refused(board.open_link, LinkDown)


def test_memory_is_the_clocks(folder):
    board = a_board(folder)
    board.remember(b"abc")
    assert board.memory() == b"abc"
