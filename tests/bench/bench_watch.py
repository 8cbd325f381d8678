"""Watching after one and after ten years of data: the cost of a reading depends on what changed, not on what is stored.

Ten-minute readings of a probe are stored for a number of years; then live readings come, and one late reading.
Printed: seconds for a pass of the watch over an hour of live readings, and its ratio to the same with two weeks stored.
"""

import tempfile
import time
from datetime import timedelta
from pathlib import Path

import numpy as np

from collector.readings.rollups import follow
from tests.builders import a_sample, an_arrival, at
from tests.collector.cave import Cave

PASSES = 12
EVERY_MIN = 10


def seconds_a_pass(days: int) -> tuple[float, float]:
    """Median seconds of a pass with one new step, and of a pass with one late reading ten days back."""
    with tempfile.TemporaryDirectory() as folder:
        cave = Cave(Path(folder))
        rng = np.random.default_rng(1)
        steps = days * 24 * 60 // EVERY_MIN
        cave.clock.set(at(steps * EVERY_MIN) + timedelta(days=2))
        for start in range(0, steps, 20_000):
            cave.store.add([message(i, rng) for i in range(start, min(steps, start + 20_000))])
            while follow(cave.store):
                pass
        while cave.watch.step().judged_places:
            pass
        live = [timed(cave, message(steps + i, rng)) for i in range(PASSES)]
        late = [timed(cave, message(steps - 1_440 + i + 0.5, rng)) for i in range(PASSES)]
        cave.close()
    return float(np.median(live)), float(np.median(late))


def message(step: float, rng: np.random.Generator) -> object:
    noise = rng.normal(0, 0.1, 2)
    return an_arrival(
        a_sample(step * EVERY_MIN, round(12 + float(noise[0]), 2)),
        a_sample(step * EVERY_MIN, round(87 + float(noise[1]), 2), "humidity", "%RH"),
    )


def timed(cave: Cave, arrival: object) -> float:
    cave.store.add([arrival])  # type: ignore[list-item]
    began = time.perf_counter()
    while follow(cave.store):
        pass
    cave.watch.step()
    return time.perf_counter() - began


def main() -> None:
    print(f"{'stored':<10} {'live step s':>12} {'ratio':>6} {'late reading s':>15} {'ratio':>6}")
    base: tuple[float, float] | None = None
    for name, days in (("6 weeks", 42), ("1 year", 365), ("10 years", 3_650)):
        live, late = seconds_a_pass(days)
        base = base or (live, late)
        print(f"{name:<10} {live:>12.3f} {live / base[0]:>6.2f} {late:>15.3f} {late / base[1]:>6.2f}", flush=True)


if __name__ == "__main__":
    main()
