"""How often foretold weights come true, and what a forecast costs.

Run with `python -m tests.bench.bench_weight` (about two minutes). It prints tables and asserts nothing. Wheels and
caves are simulated by `tests.dashboard.wheels.weight_harness`, whose physics are not those of the method. 90 %
intervals are asked 60 days ahead, given the air that then came as the probe told it. Then each wheel that loses enough
is aimed at half of that loss, put into a bag on the day that is advised, dried anew, and weighed on its day.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from statistics import median
from time import perf_counter

import numpy as np

from dashboard.wheels.weight.advice import when_to_cover
from dashboard.wheels.weight.exposure import Under
from dashboard.wheels.weight.forecast import foretold
from tests.dashboard.wheels import weight_harness as harness
from tests.dashboard.wheels.weight_adapter import Case, case_of, covers_of, plug_share
from tests.dashboard.wheels.weight_harness import Herd, SimWheel, Stand

WHEELS, SEEDS = 200, (11, 12, 13)
BAG = "barrier_bag"


@dataclass(frozen=True, slots=True)
class Judged:
    """One forecast beside the truth [g], and how long it took [s]."""

    number: int
    case: Case
    low_g: float
    middle_g: float
    high_g: float
    true_g: float
    took_s: float = 0.0

    @property
    def inside(self) -> bool:
        return self.low_g <= self.true_g <= self.high_g

    @property
    def half_width(self) -> float:
        """Half of the interval as a share of the loss from the start."""
        return (self.high_g - self.low_g) / 2 / max(self.case.weighings.weight_g[0] - self.true_g, 1.0)


def judged(herd: Herd) -> list[Judged]:
    """Every wheel of a herd foretold for its day."""
    found = []
    for number, sim in enumerate(herd.wheels):
        began = perf_counter()
        case = case_of(herd, sim)
        course = foretold(case.fit, case.exposure, np.array([sim.due_ms]))
        took = perf_counter() - began
        ends = (float(ends_g[0]) for ends_g in (course.low_g, course.middle_g, course.high_g))
        found.append(Judged(number, case, *ends, sim.true_g / plug_share(sim), took))
    return found


def advised(herd: Herd, cases: Sequence[Judged]) -> list[Judged]:
    """Those that are to be covered before their day, covered on the day that is advised, and what they weighed then."""
    planned = list(_planned(cases))
    again = harness.lived_again(herd, [_covered(one.case.sim, on_ms) for one, on_ms, _ in planned])
    found = []
    for place, (one, _, ends) in enumerate(planned):
        sim = one.case.sim
        true_g = harness.true_mass_g(again, place, sim.due_ms) * sim.kept_share / plug_share(sim)
        found.append(replace(one, low_g=ends[0], middle_g=ends[1], high_g=ends[2], true_g=true_g))
    return found


def _planned(cases: Sequence[Judged]) -> Iterator[tuple[Judged, int, tuple[float, float, float]]]:
    """Wheels that stay in one place, aimed at half of what they would lose by their day, and their day to be bagged."""
    for one in cases:
        sim, fit = one.case.sim, one.case.fit
        if any(stand.from_ms > sim.now_ms for stand in sim.stands):
            continue
        now_g = float(foretold(fit, one.case.exposure, np.array([sim.now_ms])).middle_g[0])
        if now_g - one.middle_g < 0.01 * now_g:
            continue
        aim_g = (now_g + one.middle_g) / 2
        day = when_to_cover(fit, one.case.exposure, covers_of(sim), Under(0, BAG), aim_g, sim.now_ms, sim.due_ms)
        if not (day.is_now or day.never):
            ends = day.course.low_g[0], day.course.middle_g[0], day.course.high_g[0]
            yield one, day.on_ms, (float(ends[0]), float(ends[1]), float(ends[2]))


def _covered(sim: SimWheel, on_ms: int) -> SimWheel:
    return replace(sim, stands=(*sim.stands, Stand(on_ms, sim.stands[-1].cave, BAG)))


KINDS: dict[str, Callable[[Herd, Judged], bool]] = {
    "all": lambda _herd, _one: True,
    "hard": lambda _herd, one: one.case.sim.rind in ("natural", "cloth", "coated"),
    "living": lambda _herd, one: one.case.sim.rind in ("washed", "bloomy"),
    "cut": lambda _herd, one: one.case.sim.cut_ms is not None,
    "moved": lambda _herd, one: len({stand.cave for stand in one.case.sim.stands}) > 1,
    "covered later": lambda _herd, one: one.case.sim.stands[-1].covering in ("waxed_paper", "breathable_bag"),
    "assumed air": lambda herd, one: any(herd.caves[stand.cave].assumed for stand in one.case.sim.stands),
    "a slice out": lambda _herd, one: any(w.truth == "slice" for w in one.case.sim.weighed),
    "under 4 weighings": lambda _herd, one: one.case.fit.is_plain,
    "4 to 9": lambda _herd, one: 4 <= len(one.case.fit.used) < 10,
    "10 and more": lambda _herd, one: len(one.case.fit.used) >= 10,
}


def row(name: str, cases: Sequence[Judged]) -> str:
    if not cases:
        return f"{name:<20} {0:>5}"
    inside = 100 * sum(one.inside for one in cases) / len(cases)
    width = 100 * median(one.half_width for one in cases)
    return f"{name:<20} {len(cases):>5} {inside:>8.1f} % {width:>13.0f} %"


def main() -> None:
    found: list[tuple[Herd, Judged]] = []
    followed: list[Judged] = []
    for seed in SEEDS:
        herd = harness.a_herd(seed, WHEELS)
        cases = judged(herd)
        print(row(f"seed {seed}", cases))
        found += [(herd, one) for one in cases]
        followed += advised(herd, cases)
    print(f"\n{'wheels':<20} {'n':>5} {'inside':>10} {'+- of the loss':>15}   (promised: 85 to 95 %)")
    for name, belongs in KINDS.items():
        print(row(name, [one for herd, one in found if belongs(herd, one)]))
    print(row("advice followed", followed))
    print(f"\none forecast with all it learns from: {1000 * median(one.took_s for _, one in found):.0f} ms")


if __name__ == "__main__":
    main()
