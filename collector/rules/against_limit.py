"""One judged value against one limit: spells with what they add up to; pure. Drift and dew are rows of this."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from collector.readings.model import Millis, Values
from collector.rules.ledger import Judged, Row, Sums, add_up
from collector.rules.model import Verdict
from collector.rules.spells import Flags, Spell, Steps, find_spells

MEMORY_MS = 9 * 86_400_000  # a ledger's week, the reach of the grace, and the hour of the mean, rounded up
DECIMALS = 3

MoreFacts = Callable[[int], dict[str, Any]]  # index of the last known step of a spell -> the rule's own facts


@dataclass(frozen=True, slots=True)
class Signal:
    """A value and its limit on each step, shape (n,) each.

    Args:
        value: judged value, NaN where unknown.
        limit: NaN where there is none.
        sign: 1 when above the limit is outside, -1 when below.
        hysteresis: how far back inside ends a spell.
        released: nothing is asked of these steps (resting); they end a spell.
        excused: being outside does not count here.
    """

    value: Values
    limit: Values
    sign: int
    hysteresis: Values
    released: Flags
    excused: Flags

    @property
    def excess(self) -> Values:
        """How far outside, negative when inside; NaN where unknown or without a limit."""
        return self.sign * (self.value - self.limit)

    def steps(self) -> Steps:
        """What each step says to the state machine."""
        excess = np.where(self.released | np.isnan(self.limit), -np.inf, self.excess)
        return Steps(
            outside=(excess > 0) & ~self.excused,
            inside=excess <= -self.hysteresis,
            unknown=np.isnan(excess),
        )


def judge_signal(
    rule: str,
    start_ms: Millis,
    signal: Signal,
    grace_ms: Millis,
    judged_from_ms: int,
    carried: Verdict | None,
    more_facts: MoreFacts,
) -> list[Verdict]:
    """Spells of a value beyond its limit.

    Args:
        rule: the rule's name, for the verdicts.
        start_ms: beginnings of the steps, the run-in included, shape (n,).
        signal: the value and its limit.
        grace_ms: how long outside is borne, shape (n,) [ms].
        judged_from_ms: beginning of the first judged step; those before are the run-in.
        carried: the spell open there, its facts as they were given out, or None.
        more_facts: what the rule adds, from the index of the spell's last known step.
    Returns:
        Verdicts, the carried one first. `opened_ms` is the beginning of the step that filled the grace, `cleared_ms`
        that of the step that was well inside again.
    """
    first = int(np.searchsorted(start_ms, judged_from_ms))
    if first == len(start_ms):
        return [] if carried is None else [carried]
    steps = signal.steps()
    excess = np.maximum(np.nan_to_num(signal.excess), 0.0)
    judged = Judged(start_ms, signal.value, excess, steps.outside, signal.sign)
    return [
        _verdict(rule, signal, judged, spell, carried if spell.opened is None else None, judged_from_ms, more_facts)
        for spell in find_spells(steps, grace_ms, first, carried is not None)
    ]


def _verdict(
    rule: str,
    signal: Signal,
    judged: Judged,
    spell: Spell,
    carried: Verdict | None,
    judged_from_ms: int,
    more_facts: MoreFacts,
) -> Verdict:
    end = len(judged.start_ms) if spell.cleared is None else spell.cleared
    since_ms, rows = _begun(judged.start_ms, spell, carried)
    sums, rows = add_up(judged, since_ms, end, rows, judged_from_ms)
    facts: dict[str, Any] = {} if carried is None else dict(carried.facts)
    facts.pop("ended", None)
    facts |= {"since_ms": since_ms, **_sum_facts(sums, judged.sign), "ledger": rows}
    known = np.flatnonzero(~np.isnan(judged.value[:end]))
    if len(known):
        last = int(known[-1])
        facts |= {"limit": rounded(signal.limit[last]), "last": rounded(judged.value[last]), **more_facts(last)}
    if spell.cleared is not None:
        facts["ended"] = _why_ended(signal, spell, spell.cleared)
    opened_ms = carried.opened_ms if carried is not None else int(judged.start_ms[spell.opened or 0])
    cleared_ms = None if spell.cleared is None else int(judged.start_ms[spell.cleared])
    return Verdict(rule, opened_ms, cleared_ms, facts)


def _begun(start_ms: Millis, spell: Spell, carried: Verdict | None) -> tuple[int, list[Row]]:
    """Since when a spell counts, and its ledger so far."""
    if carried is None:
        return int(start_ms[spell.since or 0]), []
    return int(carried.facts.get("since_ms", carried.opened_ms)), carried.facts.get("ledger", [])


def _sum_facts(sums: Sums, sign: int) -> dict[str, Any]:
    return {
        "worst": None if sums.worst is None else rounded(sign * sums.worst),
        "mean": None if sums.mean is None else rounded(sums.mean),
        "dose": rounded(sums.dose),
        "outside_h": rounded(sums.outside_h),
        "unknown_h": rounded(sums.unknown_h),
    }


def _why_ended(signal: Signal, spell: Spell, cleared: int) -> str:
    """inside: the air came back; lost: nothing known for a day; released: nothing was asked of it any more."""
    if spell.lost:
        return "lost"
    asked = not signal.released[cleared] and not np.isnan(signal.limit[cleared])
    return "inside" if asked else "released"


def rounded(number: float) -> float:
    """A number for the facts, to a thousandth."""
    return round(float(number), DECIMALS)
