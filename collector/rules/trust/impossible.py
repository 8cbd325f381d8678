"""A probe that sends numbers which no air can have, again and again; pure.

A single one (a DS18B20 wakes up with 85 degC, a bit falls over on a long wire) is set aside by cleaning.py and not
spoken of. Here it is about a probe that does it so often that its other readings are not to be believed either.
"""

from typing import Any

import numpy as np

from collector.air.model import STEP_MS
from collector.rules.model import ChannelRule, ChannelSituation, Verdict
from collector.rules.trust.cleaning import FAULT_NUMBERS_C, FAULT_SLACK_K, TEMPERATURES, impossible, limits
from collector.rules.trust.readings import Flags, Heard, heard
from collector.rules.trust.verdicts import steps_saying, verdicts

NAME = "impossible"
WINDOW_MS = 3 * 3_600_000  # our choice: six readings of a probe that reports every half hour
LEAST_TIMES = 2  # our choice: one number can be a start-up, two within three hours are not
LEAST_SHARE = 0.1  # our choice: below a tenth the good readings between the bad ones are still a course
ON_END = 3  # three bad ones on end open at once, however many good ones went before


def judge(situation: ChannelSituation, carried: Verdict | None) -> list[Verdict]:
    """Spells in which a probe kept sending impossible numbers.

    Args:
        situation: readings calibrated but not cleaned.
        carried: the spell open before the judged span.
    Returns:
        Verdicts with facts: since_ms (the first impossible number within three hours), value (the last one), kind
        (power_on, no_sensor, below, above), lowest and highest possible, times and readings within the three hours
        before it was noticed, largest_share of impossible ones.
    Source: our choice, see the constants.
    """
    own = heard(situation, with_impossible=True)
    bad = impossible(situation.quantity, own.value)
    times = own.count(bad, WINDOW_MS)
    readings = own.count(np.ones(len(bad), dtype=bool), WINDOW_MS)
    share = np.divide(times, readings, out=np.zeros(len(times)), where=readings > 0)
    often = (times >= LEAST_TIMES) & (share >= LEAST_SHARE)
    steps = steps_saying(often | _on_end(own, bad), times == 0, own.silent)

    def opening(step: int) -> dict[str, Any]:
        from_reading = int(own.within(WINDOW_MS)[step])
        lowest, highest = limits(situation.quantity)
        since = own.taken_ms[from_reading + int(np.argmax(bad[from_reading:]))]
        window = own.value[own.within(WINDOW_MS)[step] : own.upto[step]]
        wrong = window[impossible(situation.quantity, window)]
        kind = kind_of(situation.quantity, float(wrong[-1]))
        told = {"since_ms": since, "value": wrong[-1], "kind": kind, "lowest": lowest, "highest": highest}
        return told | {"times": times[step], "readings": readings[step]}

    return verdicts(NAME, own.start_ms, own.first, steps, carried, opening, largest={"largest_share": share})


def kind_of(quantity: str, value: float) -> str:
    """What an impossible number most likely is: power_on, no_sensor, below or above.

    Args:
        quantity: its quantity.
        value: the number, in the canonical unit.
    Source: DS18B20 data sheet (85 after power-on); its usual library's -127 for a sensor that does not answer
        (common practice); SHT3x and SHT4x data sheets (-45 for a raw zero).
    """
    lowest, _ = limits(quantity)
    if quantity in TEMPERATURES:
        power_on, raw_zero = FAULT_NUMBERS_C
        if abs(value - power_on) <= FAULT_SLACK_K:
            return "power_on"
        if abs(value - raw_zero) <= FAULT_SLACK_K or value < lowest:
            return "no_sensor"
    return "below" if value <= lowest else "above"


def _on_end(own: Heard, bad: Flags) -> Flags:
    """Steps whose last three readings, taken within the window, are all bad."""
    together = np.zeros(len(bad) + 1, dtype=bool)
    if len(bad) >= ON_END:
        together[ON_END:] = np.lib.stride_tricks.sliding_window_view(bad, ON_END).all(axis=1)
    oldest = own.within(WINDOW_MS)
    return np.asarray(together[own.upto] & (own.upto - oldest >= ON_END))


IMPOSSIBLE = ChannelRule(
    NAME, "sends impossible numbers", "warn", memory_ms=24 * 3_600_000 + STEP_MS, doubts=True, judge=judge
)
