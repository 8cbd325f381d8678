"""How often the rules about air are wrong, and how soon they see a drift, beside CUSUM and EWMA charts.

Run with `python -m tests.bench.bench_drift` (about three minutes). It prints tables and asserts nothing. The caves are
simulated (`tests.bench.caves`): what the air does slowly is known there, so a warning is false when the air it warned
of neither was out of its band nor left it within two days. The charts run on hourly means with the daily course taken
off, set by each cave's first two weeks, and are tuned until they raise as many false alarms on the humidity as the
rules do; then all see the same planted drifts.
"""

from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from time import perf_counter

import numpy as np

from collector.readings.model import Values
from collector.rules.charts import cusum, ewma
from collector.rules.hourly import hourly_mean
from collector.rules.leaving import LEAVING
from collector.rules.model import Verdict
from collector.rules.place_rules import PLACE_RULES
from collector.rules.trend import daily_course
from tests.bench.caves import (
    HALF_BAND_C,
    HALF_BAND_PCT,
    KINDS,
    START_MS,
    TARGET_C,
    TARGET_PCT,
    Caves,
    hourly,
    simulated,
    situation,
)

PER_KIND = 20
RUN_IN_D, JUDGED_D = 21, 30
AHEAD_H = 48
RATES_PCT_PER_DAY = (1.0, 2.0, 5.0)
HOURS = 24
Chart = Callable[[Values], np.typing.NDArray[np.bool_]]


def main() -> None:
    caves = simulated(PER_KIND, RUN_IN_D + JUDGED_D, seed=11)
    verdicts = [_judged(caves, cave) for cave in range(len(caves.kinds))]
    humid = _print_false(caves, verdicts)
    charts = _tuned(caves, humid)
    _print_delays(charts)
    _print_speed()


# --- false warnings ---


def _judged(caves: Caves, cave: int) -> list[Verdict]:
    seen = situation(caves, cave)
    return [verdict for rule in PLACE_RULES.values() for verdict in rule.judge(seen, None)]


def _print_false(caves: Caves, verdicts: list[list[Verdict]]) -> float:
    """Prints false warnings a cave and month; returns those about humidity, over all kinds."""
    false: Counter[tuple[str, str]] = Counter()
    humid = 0
    for cave, found in enumerate(verdicts):
        for verdict in found:
            if _hour(verdict.opened_ms) >= RUN_IN_D * HOURS and not _was_right(caves, cave, verdict):
                false[caves.kinds[cave].name, verdict.rule] += 1
                humid += verdict.facts.get("quantity") == "humidity"
    months = PER_KIND * JUDGED_D / 30
    print(f"False warnings a cave and month, {PER_KIND} caves of each kind, {JUDGED_D} days (bar: at most one)\n")
    print(f"{'':16}" + "".join(f"{kind.name:>14}" for kind in KINDS))
    for rule in PLACE_RULES:
        print(f"{rule:16}" + "".join(f"{false[kind.name, rule] / months:14.2f}" for kind in KINDS))
    sums = [sum(n for (name, _), n in false.items() if name == kind.name) / months for kind in KINDS]
    print(f"{'together':16}" + "".join(f"{total:14.2f}" for total in sums) + "\n")
    return humid / (months * len(KINDS))


def _was_right(caves: Caves, cave: int, verdict: Verdict) -> bool:
    """A drift was right when the slow air was out, give or take half a point or 0.1 K; leaving when it left."""
    quantity = verdict.facts.get("quantity")
    if quantity is None:
        return False
    away = (
        hourly(caves.true_pct[cave] - TARGET_PCT) if quantity == "humidity" else hourly(caves.true_c[cave] - TARGET_C)
    )
    limit = HALF_BAND_PCT - 0.5 if quantity == "humidity" else HALF_BAND_C - 0.1
    sign = 1 if verdict.facts["side"] == "high" else -1
    hour = _hour(verdict.opened_ms)
    span = slice(hour, hour + AHEAD_H) if verdict.rule == LEAVING.name else slice(max(0, hour - 3), hour + 1)
    return bool((sign * away[span] > limit).any())


def _hour(ms: int) -> int:
    return (ms - START_MS) // 3_600_000


# --- charts ---


def _standard(caves: Caves, cave: int) -> Values:
    """Hourly means of one cave in standard deviations of its first two weeks, the daily course taken off."""
    means = hourly(caves.humidity_pct[cave])
    learnt = means[: 14 * HOURS]
    flat = means - np.resize(daily_course(learnt), len(means))
    return np.asarray((flat - flat[: 14 * HOURS].mean()) / flat[: 14 * HOURS].std())


def _alarms(values: Values, chart: Chart) -> list[int]:
    """Hours of the alarms of a chart that starts anew after each."""
    found, begin = [], 0
    while begin < len(values):
        signals = chart(values[begin:])
        if not signals.any():
            break
        found.append(begin + int(np.argmax(signals)))
        begin = found[-1] + 1
    return found


def _cusum(slack: float, interval: float, values: Values) -> np.typing.NDArray[np.bool_]:
    return cusum(values, 0.0, slack, interval).signals


def _ewma(weight: float, width: float, values: Values) -> np.typing.NDArray[np.bool_]:
    return ewma(values, 0.0, 1.0, weight, width).signals


# What is looked for by the textbook, one standard deviation, and what a cave that wanders asks for.
CHARTS: dict[str, tuple[Callable[..., np.typing.NDArray[np.bool_]], float, float]] = {
    "CUSUM k=0.5": (partial(_cusum, 0.5), 1.0, 400.0),
    "CUSUM k=2": (partial(_cusum, 2.0), 0.1, 100.0),
    "EWMA 0.1": (partial(_ewma, 0.1), 1.0, 60.0),
    "EWMA 0.3": (partial(_ewma, 0.3), 1.0, 60.0),
}


def _tuned(caves: Caves, rate: float) -> dict[str, Chart]:
    """Charts with as many false alarms a cave and month as the rules."""
    rows = [_standard(caves, cave)[RUN_IN_D * HOURS :] for cave in range(len(caves.kinds))]
    months = len(rows) * JUDGED_D / 30
    charts: dict[str, Chart] = {}
    print(f"False alarms on humidity a cave and month: rules {rate:.2f}", end="")
    for name, (make, low, high) in CHARTS.items():
        for _ in range(14):
            middle = (low * high) ** 0.5
            count = sum(len(_alarms(row, partial(make, middle))) for row in rows) / months
            low, high = (middle, high) if count > rate else (low, middle)
        charts[name] = partial(make, high)
        count = sum(len(_alarms(row, charts[name])) for row in rows) / months
        print(f", {name} {count:.2f} (limit {high:.1f})", end="")
    print("\n")
    return charts


# --- delays ---


def _print_delays(charts: dict[str, Chart]) -> None:
    print(
        "Hours from the begin of a drift upwards to the first warning: median (10th to 90th of a hundred); "
        f"the limit is {HALF_BAND_PCT:g} % away\n"
    )
    print(f"{'a day':8}{'kind':14}{'at limit':>10}{'rules':>18}" + "".join(f"{name:>18}" for name in charts))
    for rate in RATES_PCT_PER_DAY:
        days = RUN_IN_D + int(np.ceil(HALF_BAND_PCT / rate)) + 4
        caves = simulated(PER_KIND, days, seed=2, drift_pct_per_day=rate, from_day=RUN_IN_D)
        rows = {
            name: [_chart_delay(caves, cave, chart) for cave in range(len(caves.kinds))]
            for name, chart in charts.items()
        }
        rules = [_rules_delay(caves, cave) for cave in range(len(caves.kinds))]
        for i, kind in enumerate(KINDS):
            part = slice(i * PER_KIND, (i + 1) * PER_KIND)
            cells = "".join(f"{_spread(row[part]):>18}" for row in (rules, *rows.values()))
            print(f"{rate:4g} %  {kind.name:14}{HALF_BAND_PCT / rate * HOURS:10.0f}{cells}")
        print(f"{'':8}{'all':14}{'':10}" + "".join(f"{_spread(row):>18}" for row in (rules, *rows.values())) + "\n")


def _rules_delay(caves: Caves, cave: int) -> float:
    seen = situation(caves, cave)
    hours = [
        _hour(verdict.opened_ms) + 1
        for name in ("too_damp", LEAVING.name)
        for verdict in PLACE_RULES[name].judge(seen, None)
        if verdict.facts.get("quantity") == "humidity" and verdict.facts["side"] == "high"
    ]
    return min((hour - RUN_IN_D * HOURS for hour in hours if hour >= RUN_IN_D * HOURS), default=np.inf)


def _chart_delay(caves: Caves, cave: int, chart: Chart) -> float:
    found = _alarms(_standard(caves, cave)[RUN_IN_D * HOURS :], chart)
    return found[0] + 1 if found else np.inf


def _spread(delays: list[float]) -> str:
    low, middle, high = (float(np.quantile(delays, q, method="nearest")) for q in (0.1, 0.5, 0.9))
    return f"{middle:.0f} ({low:.0f} to {high:.0f})"


# --- speed ---


def _print_speed() -> None:
    """Time for ten years of ten-minute steps as multiples of the hourly mean over them."""
    year = simulated(1, 365, seed=5)
    seen = situation(year, 1)
    air = seen.air.humidity_pct
    begin = perf_counter()
    for _ in range(20):
        hourly_mean(air.mean, air.known)
    unit = (perf_counter() - begin) / 20
    print(
        "One pass over a year of ten-minute steps (raw readings once a minute): times its hourly mean; for ten years\n"
    )
    for name, rule in PLACE_RULES.items():
        begin = perf_counter()
        rule.judge(replace(seen), None)
        took = perf_counter() - begin
        print(f"{name:18}{took / unit:8.0f} times {10 * took:8.2f} s")


if __name__ == "__main__":
    main()
