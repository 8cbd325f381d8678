"""How often the rules about probes doubt an honest one, and how soon they find a fault.

Run with `python -m tests.bench.bench_trust` (about three minutes). It prints tables and asserts nothing. Three honest
probes hang in each simulated cave (`tests.collector.rules.trust.caves`): fridges that cycle by up to 24 points, doors,
cellars that stand still; fine and coarse probes that report every minute to every half hour; shelves whose air wanders
apart by half a point and 0.15 K over days. All that a rule says of them is false. Then each fault is put
into one of the three.
"""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace
from time import perf_counter

import numpy as np

from collector.readings.coverage import time_weighted
from collector.readings.model import Values
from collector.rules.model import ChannelRule, Verdict
from collector.rules.trust import BY_NAME, CHANNEL_RULES
from tests.collector.rules.trust.caves import (
    BEGIN_MS,
    BOX,
    CELLAR,
    DAY_MS,
    DEEP_CELLAR,
    FRIDGE,
    HOUR_MS,
    WILD_FRIDGE,
    CaveKind,
    Channel,
    air,
    place,
    prepared,
    probe,
    wander,
)

KINDS = {"fridge": FRIDGE, "wild fridge": WILD_FRIDGE, "cellar": CELLAR, "deep cellar": DEEP_CELLAR, "box": BOX}
RUN_IN_D, JUDGED_D, SEEDS = 29, 30, 2
DAYS = RUN_IN_D + JUDGED_D
FAULT_MS = BEGIN_MS + RUN_IN_D * DAY_MS


@dataclass(frozen=True, slots=True)
class Make:
    """A make of probe: how often it reports, in which steps [K], [%RH], and how noisy it is."""

    name: str
    interval_min: float
    resolution: dict[str, float]
    noise: dict[str, float]


MAKES = (
    Make("fine, 1 min", 1, {"temperature": 0.01, "humidity": 0.01}, {"temperature": 0.02, "humidity": 0.1}),
    Make("0.1, 5 min", 5, {"temperature": 0.1, "humidity": 0.1}, {"temperature": 0.03, "humidity": 0.2}),
    Make("coarse, 10 min", 10, {"temperature": 0.5, "humidity": 1.0}, {"temperature": 0.02, "humidity": 0.1}),
    Make("0.1, 30 min", 30, {"temperature": 0.1, "humidity": 0.1}, {"temperature": 0.03, "humidity": 0.2}),
)
SHELF = {"temperature": 0.15, "humidity": 0.5}
OFFSET = {"temperature": 0.3, "humidity": 1.5}


def main() -> None:
    honest = _honest()
    _print_false(honest)
    _print_delays(honest)
    _print_speed(honest)


Key = tuple[str, str, str, int]


def _honest() -> dict[Key, dict[str, Channel]]:
    """Three probes of one quantity in each cave, by (kind, make, quantity, seed)."""
    found = {}
    for kind_name, kind in KINDS.items():
        for seed in range(SEEDS):
            course = air(kind, DAYS, 100 + seed)
            for make in MAKES:
                for quantity in ("temperature", "humidity"):
                    found[kind_name, make.name, quantity, seed] = _three(kind, make, quantity, course, seed)
    return found


def _three(kind: CaveKind, make: Make, quantity: str, course, seed: int) -> dict[str, Channel]:
    """Three probes at three heights, each with its own error, lag and shelf."""
    rng = np.random.default_rng([seed, len(make.name), len(quantity), int(kind.swing_pct)])
    names = {}
    for i, name in enumerate("abc"):
        own = probe(
            course,
            quantity,
            int(rng.integers(1 << 30)),
            interval_min=make.interval_min,
            noise=make.noise[quantity],
            resolution=1e-6,
            offset=OFFSET[quantity] * rng.standard_normal(),
            lag_min=(1.0, 3.0, 6.0)[i],
        )
        minute = ((own.taken_ms - BEGIN_MS) // 60_000).clip(max=DAYS * 1440 - 1)
        value = own.value + SHELF[quantity] * wander(rng, DAYS * 1440, 90)[minute]
        names[name] = own.with_values(_as_reported(value, make, quantity))
    return place(names, DAYS)


def _as_reported(value: Values, make: Make, quantity: str) -> Values:
    step = make.resolution[quantity]
    return np.round(np.round(value.clip(max=100.0) / step) * step, 6)


def _found(rule: ChannelRule, channel: Channel) -> list[Verdict]:
    ready = prepared(channel, DAYS)
    return rule.judge(ready.situation(rule, FAULT_MS, ready.end_ms), None)


# --- false alarms ---


def _print_false(honest: dict[Key, dict[str, Channel]]) -> None:
    count: Counter[tuple[str, str]] = Counter()
    months: Counter[str] = Counter()
    for (kind, _, _, _), three in honest.items():
        for channel in three.values():
            months[kind] += 1
            count.update((rule.name, kind) for rule in CHANNEL_RULES for _ in _found(rule, channel))
    print(f"False verdicts a probe and month, in {sum(months.values())} months of honest probes, three in a cave\n")
    print("rule".ljust(14) + "".join(kind.rjust(13) for kind in KINDS) + "all".rjust(9))
    for rule in CHANNEL_RULES:
        each = [count[rule.name, kind] / months[kind] for kind in KINDS]
        total = sum(count[rule.name, kind] for kind in KINDS) / sum(months.values())
        print(rule.name.ljust(14) + "".join(f"{share:13.3f}" for share in each) + f"{total:9.3f}")
    print()


# --- delay ---


@dataclass(frozen=True, slots=True)
class Fault:
    """A fault put into an honest channel from `FAULT_MS` on, and the rule that should find it."""

    name: str
    rule: str
    quantity: str
    spoil: Callable[[Values, Values, np.random.Generator], Values]  # (value, days since, chance) -> value


def _share(share: float, by: float) -> Callable[[Values, Values, np.random.Generator], Values]:
    return lambda v, day, rng: v + by * ((day >= 0) & (rng.random(len(v)) < share))


def _held(v: Values, day: Values, rng: np.random.Generator) -> Values:
    return np.where(day >= 0, v[np.argmax(day >= 0)], v)


FAULTS = (
    Fault("hangs", "stuck", "temperature", _held),
    Fault("hangs", "stuck", "humidity", _held),
    Fault("-127 now and then (1 in 5)", "impossible", "temperature", _share(0.2, -300.0)),
    Fault("255 always", "impossible", "humidity", lambda v, day, _: np.where(day >= 0, 255.0, v)),
    Fault("single readings 5 K off (1 in 20)", "jumping", "temperature", _share(0.05, 5.0)),
    Fault("single readings 20 % off (1 in 20)", "jumping", "humidity", _share(0.05, -20.0)),
    Fault("steps off by 3 K", "disagrees", "temperature", lambda v, day, _: v + 3.0 * (day >= 0)),
    Fault("steps off by 12 %", "disagrees", "humidity", lambda v, day, _: v - 12.0 * (day >= 0)),
    Fault("drifts by 0.2 K a week", "creeping", "temperature", lambda v, day, _: v + 0.2 / 7 * day.clip(0)),
    Fault("drifts by 0.5 % a week", "creeping", "humidity", lambda v, day, _: v + 0.5 / 7 * day.clip(0)),
    Fault("drifts by 1 % a week", "creeping", "humidity", lambda v, day, _: v + 1.0 / 7 * day.clip(0)),
    Fault("drifts by 2 % a week", "creeping", "humidity", lambda v, day, _: v + 2.0 / 7 * day.clip(0)),
    Fault("stands at 100 %", "saturated", "humidity", lambda v, day, _: np.where(day >= 0, 100.0, v)),
)


def _print_delays(honest: dict[Key, dict[str, Channel]]) -> None:
    print(
        f"Delay from fault to verdict in hours, median (from the 10th to the 90th percentile), within {JUDGED_D} days\n"
    )
    print("rule".ljust(12) + "fault".ljust(36) + "".join(make.name.rjust(30) for make in MAKES))
    for fault in FAULTS:
        cells = [_cell(fault, make, honest) for make in MAKES]
        print(
            fault.rule.ljust(12)
            + f"{fault.quantity}: {fault.name}"[:35].ljust(36)
            + "".join(c.rjust(30) for c in cells)
        )
    print()


def _cell(fault: Fault, make: Make, honest: dict[Key, dict[str, Channel]]) -> str:
    delays = [
        _delay(fault, make, three, number)
        for number, ((_, name, quantity, _), three) in enumerate(honest.items())
        if name == make.name and quantity == fault.quantity
    ]
    found = [delay for delay in delays if delay is not None]
    if not found:
        return f"none of {len(delays)}"
    low, middle, high = np.quantile(found, [0.1, 0.5, 0.9], method="nearest")
    missed = "" if len(found) == len(delays) else f" {len(found)}/{len(delays)}"
    return f"{middle:.1f} ({low:.1f} to {high:.1f}){missed}"


def _delay(fault: Fault, make: Make, three: dict[str, Channel], number: int) -> float | None:
    own = three["b"]
    day = (own.taken_ms - FAULT_MS) / DAY_MS
    spoilt = fault.spoil(own.value, day, np.random.default_rng(number))
    if fault.name.startswith("drifts"):
        spoilt = _as_reported(spoilt, make, fault.quantity)
    placed = place({**{n: replace(c, neighbours={}) for n, c in three.items()}, "b": own.with_values(spoilt)}, DAYS)
    verdicts = _found(BY_NAME[fault.rule], placed["b"])
    return min(((v.opened_ms + 600_000 - FAULT_MS) / HOUR_MS for v in verdicts), default=None)


# --- speed ---


def _print_speed(honest: dict[Key, dict[str, Channel]]) -> None:
    channel = honest["fridge", MAKES[0].name, "humidity", 0]["b"]
    ready = prepared(channel, DAYS)
    edges = np.append(ready.grid_ms, ready.end_ms)
    begin = perf_counter()
    for _ in range(10):
        time_weighted(channel.taken_ms, ready.held, channel.value, edges)
    unit = (perf_counter() - begin) / 10
    print(
        f"One pass over {JUDGED_D} days of readings a minute apart: times their ten-minute means; and one hour of it\n"
    )
    for rule in CHANNEL_RULES:
        month = _took(rule, ready, FAULT_MS, ready.end_ms)
        hour = _took(rule, ready, ready.end_ms - HOUR_MS, ready.end_ms)
        print(f"{rule.name:14}{month / unit:10.1f} times{hour / unit:10.2f} times {1_000 * hour:8.2f} ms")


def _took(rule: ChannelRule, ready, from_ms: int, to_ms: int) -> float:
    situation = ready.situation(rule, from_ms, to_ms)
    begin = perf_counter()
    rule.judge(situation, None)
    return perf_counter() - begin


if __name__ == "__main__":
    main()
