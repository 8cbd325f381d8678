"""How fast the board's clock runs, learned from the time server, for hours when it does not answer.

In deep sleep the clock may stray by a percent, evenly. What is learned lies in flash, because a power
cut in such an hour is when it is needed: the readings before it get no later correction.
"""

import struct

from .keep import crc, overwrite, read

LAYOUT = "<iI"  # seconds strayed, in so many seconds by this clock
ENOUGH_S = 3600  # A second more or less in an hour: before that the guess may do harm.
SHORTEST_S = 300
FORGET_S = 172800  # Two days; then the old half counts half.
JUMP = 20  # More than a twentieth is no pace but a jump.


class Pace:
    """What is known of one clock's pace."""

    def __init__(self, path):
        self.path = path
        self.strayed_s = self.over_s = 0
        data = read(path)
        if len(data) == struct.calcsize(LAYOUT) + 4 and crc(data[:-4]) == data[-4:]:
            self.strayed_s, self.over_s = struct.unpack(LAYOUT, data[:-4])

    def right(self, run_s):
        """How long it truly was, when the clock counted `run_s` seconds."""
        if self.over_s < ENOUGH_S:
            return run_s
        return run_s - run_s * self.strayed_s // self.over_s

    def learn(self, run_s, true_s):
        """The clock counted `run_s` seconds while `true_s` went by."""
        error_s = run_s - true_s
        if run_s < SHORTEST_S or abs(error_s) > run_s // JUMP:
            return
        self.strayed_s, self.over_s = self.strayed_s + error_s, self.over_s + run_s
        if self.over_s > FORGET_S:
            self.strayed_s, self.over_s = self.strayed_s // 2, self.over_s // 2
        data = struct.pack(LAYOUT, self.strayed_s, self.over_s)
        overwrite(self.path, data + crc(data))
