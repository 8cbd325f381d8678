"""Likenesses of buses, sensors and the board. They run under CPython and under MicroPython."""

from firmware_notes.node import ds18b20, sht
from firmware_notes.node.sensors import Sensors


def refused(action, kind):
    """The text of the `kind` of exception that `action` raises; fails when it raises none."""
    try:
        action()
    except kind as fault:
        return str(fault)
    raise AssertionError("nothing was refused")


def sht_answer(raw_t, raw_rh):
    """Six bytes as the sensor sends them. The checksum is the driver's own; its vectors stand apart."""
    t, rh = bytes((raw_t >> 8, raw_t & 255)), bytes((raw_rh >> 8, raw_rh & 255))
    return t + bytes((sht.crc8(t),)) + rh + bytes((sht.crc8(rh),))


class FakeI2c:
    """Answers reads from a list; an exception in it is raised, the last answer stays."""

    def __init__(self, answers):
        self.answers, self.written = list(answers), []

    def writeto(self, address, data):
        self.written.append((address, bytes(data)))

    def readfrom(self, address, size):
        answer = self.answers.pop(0) if len(self.answers) > 1 else self.answers[0]
        if isinstance(answer, Exception):
            raise answer
        return answer


class FakeWire:
    """A 1-Wire bus with sensors: {rom: scratchpad after a conversion}."""

    POWER_ON = bytes.fromhex("50054b467fff0c101c")

    def __init__(self, sensors, present=True):
        self.sensors, self.present = sensors, present
        self.commands, self.rom, self.converted = [], None, False

    def scan(self):
        return list(self.sensors)

    def reset(self):
        self.rom = None
        return self.present

    def select_rom(self, rom):
        self.rom = bytes(rom)

    def writebyte(self, value):
        self.commands.append(value)
        self.converted = self.converted or value == ds18b20.CONVERT

    def readinto(self, buffer):
        scratchpad = self.sensors[self.rom] if self.converted else self.POWER_ON
        for at in range(9):
            buffer[at] = scratchpad[at]


class FakeAmplifier:
    """The two pins of an HX711: `data` shows the bits of `counts` as `clock` ticks."""

    def __init__(self, counts, ready_after=0):
        self.bits = [counts >> at & 1 for at in range(23, -1, -1)]
        self.at, self.not_ready, self.level = 0, ready_after, 0
        self.data, self.clock = FakePin(read=self._data), FakePin(write=self._clock)

    def _data(self):
        if self.at == 0 or self.at > 24:
            self.at = 0
            self.not_ready -= 1
            return 1 if self.not_ready >= 0 else 0
        return self.bits[self.at - 1]

    def _clock(self, level):
        if level and not self.level:
            self.at += 1
        self.level = level


class FakePin:
    def __init__(self, read=None, write=None):
        self.read, self.write = read, write

    def value(self, level=None):
        return self.read() if level is None else self.write(level)


class FakeAir:
    """A humidity sensor that always answers."""

    def __init__(self, temperature_c=11.99, humidity_pct=84.8):
        self.temperature_c, self.humidity_pct, self.heated = temperature_c, humidity_pct, []

    def read(self):
        return self.temperature_c, self.humidity_pct

    def heat(self, pulses):
        self.heated.append(pulses)


class FakeLink:
    """A broker's end: acknowledges as told, remembers what was published."""

    def __init__(self, board):
        self.board, self.unacked, self.packet_id, self.stream = board, [], 0, self

    def connect(self, client, user, password, will=None):
        self.board.wills.append(will)

    def publish(self, topic, payload, retain=False):
        self.packet_id += 1
        self.board.published.append((topic, payload, retain))
        self.unacked.append(self.packet_id)
        return self.packet_id

    def next_ack(self):
        if self.board.acks_left == 0:
            raise self.board.link_down("no answer from the broker: test")
        self.board.acks_left -= 1
        return self.unacked.pop(0)

    def ping(self):
        self.board.pings += 1

    def close(self):
        pass


class FakeBoard:
    """A probe's hardware: a clock that counts from 0 until set, memory, and a switchable network."""

    def __init__(self, link_down, air=None, true_at_power_on=1790000000):
        self.link_down, self.air = link_down, air
        self.clock, self.true = 0, true_at_power_on
        self.kept, self.boots = b"", 0
        self.online = self.has_time = True
        self.acks_left, self.pings = 1 << 30, 0
        self.published, self.wills, self.slept, self.door = [], [], [], None

    def passes(self, seconds):
        self.clock += seconds
        self.true += seconds

    def power_cut(self, seconds):
        """Clock and memory are lost; flash is not."""
        self.true += seconds
        self.clock, self.kept = 0, b""

    def sensors(self):
        return Sensors(self, self.settings, self.air)

    def now(self):
        return self.clock

    def set_clock(self, seconds):
        self.clock = seconds

    def memory(self):
        return self.kept

    def remember(self, data):
        self.kept = data

    def random(self):
        self.boots += 1
        return 0xB0070000 + self.boots

    def ask_time(self):
        if not (self.online and self.has_time):
            raise OSError("no answer")
        return self.true

    def network_up(self):
        if not self.online:
            raise self.link_down("no Wi-Fi")

    def network_down(self):
        pass

    def signal_dbm(self):
        return -67 if self.online else None

    def open_link(self):
        if not self.online:
            raise self.link_down("no connection")
        return FakeLink(self)

    def door_is_open(self):
        return self.door

    def battery_mv(self):
        return None

    def wait_ms(self, duration_ms):
        self.passes(duration_ms // 1000)

    def deep_sleep(self, seconds):
        self.slept.append(seconds)
        self.passes(seconds)
