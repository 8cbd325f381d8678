"""What a probe remembers through deep sleep and restarts, in the clock's own memory.

A power cut clears that memory; then a new boot id is drawn and the numbers begin again. The sequence
number is saved before it is used, so a restart skips one sooner than using one twice.
"""

import struct

from .clock import SANE
from .keep import crc

LAYOUT = "<IIIIIiIIHHHB"
FIELDS = (
    "boot",
    "seq",
    "stamp",  # the clock when this was saved
    "born",  # the clock at power-on
    "since",  # the clock when the time was last asked, 0 for never
    "offset",  # what was to be added to it then
    "heated",  # the clock at the end of the last heating, 0 for never
    "asked",
    "waiting",  # readings since the last try to send
    "failures",
    "refused",
    "door",
)
MOST = 0xFFFF


class State:
    """Numbers by name, as FIELDS lists them; the board keeps the bytes."""

    def __init__(self, board):
        self.board = board
        now = board.now()
        if not self._load(board.memory(), now):
            self._begin(now)

    def next_seq(self):
        """The number of the next message."""
        self.seq += 1
        self.save()
        return self.seq

    def count(self, name):
        """One more of `name`, up to 65535."""
        setattr(self, name, min(MOST, getattr(self, name) + 1))

    def uptime_s(self):
        """Seconds since power-on."""
        return self.board.now() - self.born

    def clock_moves(self, step):
        """The clock was set: what was measured by it moves along."""
        self.born += step
        if self.heated:
            self.heated += step

    def synced(self, shown, true):
        """It was `true` when the clock showed `shown`. One write keeps both, so no restart parts them."""
        self.since = self.asked = shown
        self.offset = true - shown
        self.save()

    def save(self):
        """Writes everything into the clock's memory."""
        self.stamp = self.board.now()
        values = [getattr(self, name) for name in FIELDS]
        data = struct.pack(LAYOUT, *values)
        self.board.remember(data + crc(data))

    def _load(self, data, now):
        if len(data) != struct.calcsize(LAYOUT) + 4 or crc(data[:-4]) != data[-4:]:
            return False
        for name, value in zip(FIELDS, struct.unpack(LAYOUT, data[:-4])):
            setattr(self, name, value)
        if self.born < SANE <= now and not self.since:  # It was set, and the power went before this was noted.
            self.clock_moves(now - self.stamp)
        return self.stamp <= now  # A clock that went back has lost its count: a new boot.

    def _begin(self, now):
        for name in FIELDS:
            setattr(self, name, 0)
        self.boot = self.board.random()
        self.born = self.stamp = now
        self.save()
