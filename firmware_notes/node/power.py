"""Watchdog, waiting and sleeping.

The watchdog restarts the board when nothing has fed it for a minute and a half: longer than any single
step here may take, shorter than anybody would wait.
"""

WATCHDOG_MS = 90000
SLICE_MS = 1000


class Power:
    """`machine` and `time` are the board's modules; `watch` is off while settings are tried out."""

    def __init__(self, machine, time, watch=True):
        self.machine, self.time = machine, time
        self.dog = machine.WDT(timeout=WATCHDOG_MS) if watch else None

    def feed(self):
        if self.dog:
            self.dog.feed()

    def wait_ms(self, duration_ms):
        """Waits in slices of a second and feeds the watchdog between them."""
        while duration_ms > 0:
            self.feed()
            self.time.sleep_ms(min(SLICE_MS, duration_ms))
            duration_ms -= SLICE_MS
        self.feed()

    def deep_sleep(self, seconds):
        """Sleeps with everything off but the clock; the program starts anew afterwards."""
        self.machine.deepsleep(seconds * 1000)

    def restart(self):
        self.machine.reset()
