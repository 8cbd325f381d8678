"""A load cell under a shelf, read through an HX711 amplifier.

Source: HX711 data sheet, page 5: 24 bits, two's complement, highest first; 25 clock pulses choose
channel A with gain 128; a clock that stays high for 60 us puts the amplifier to sleep.
"""

from .faults import SensorFault

GAIN_128_PULSES = 1  # Clock pulses after the 24 bits: channel A, gain 128, next time.
READY_MS = 1000  # At 10 samples a second the first one after power-up takes 400 ms (from memory).
SAMPLES = 5
TOP, BOTTOM = 0x7FFFFF, -0x800000  # What an overloaded or torn-off cell reads.


def signed(raw):
    """24 bits, two's complement, as a number."""
    return raw - 0x1000000 if raw & 0x800000 else raw


def grams(counts, zero_counts, counts_per_kg):
    """Weight in grams, rounded, from counts; both constants come from weighing a known weight."""
    return round((counts - zero_counts) * 1000 / counts_per_kg)


class LoadCell:
    """`data` and `clock` are pins; the amplifier sleeps between readings while the clock is high."""

    def __init__(self, data, clock, wait_ms, zero_counts, counts_per_kg):
        self.data, self.clock, self.wait_ms = data, clock, wait_ms
        self.zero_counts, self.counts_per_kg = zero_counts, counts_per_kg

    def read(self):
        """Grams on the shelf: the middle one of five samples, so that one knock does no harm."""
        self.clock.value(0)
        samples = sorted(self._sample() for _ in range(SAMPLES))
        self.clock.value(1)
        return grams(samples[SAMPLES // 2], self.zero_counts, self.counts_per_kg)

    def _sample(self):
        for _ in range(READY_MS // 10):
            if not self.data.value():
                return self._shift_in()
            self.wait_ms(10)
        raise SensorFault("load cell: amplifier never ready")

    def _shift_in(self):
        raw = 0
        for _ in range(24):
            self._tick()
            raw = raw << 1 | self.data.value()
        for _ in range(GAIN_128_PULSES):
            self._tick()
        counts = signed(raw)
        if counts in (TOP, BOTTOM):
            raise SensorFault("load cell: at its limit, overloaded or a wire off")
        return counts

    def _tick(self):
        self.clock.value(1)
        self.clock.value(0)
