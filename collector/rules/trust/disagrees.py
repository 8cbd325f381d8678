"""Two probes of one place that are further apart than both can be right; pure.

Two rules share the comparison. `disagrees` is about a channel that is likelier wrong than the others: a surer probe
(one checked against salts) says otherwise, or two that agree do. Its readings are set aside. `apart` is about two of
which nobody can say which is wrong; both go on, and a check decides.
"""

from collections.abc import Callable
from functools import partial
from typing import Any, Literal

import numpy as np

from collector.air.model import STEP_MS
from collector.readings.model import Millis
from collector.rules.model import ChannelRule, ChannelSituation, Verdict
from collector.rules.trust.neighbours import (
    DAY_STEPS,
    UNKNOWN_UNCERTAINTY,
    Apart,
    apart_at,
    hourly_steps,
    is_known,
)
from collector.rules.trust.readings import steps_of
from collector.rules.trust.verdicts import steps_saying, verdicts

DISAGREES_NAME = "disagrees"
APART_NAME = "apart"
WELL_SHARE = 0.7  # hysteresis, our choice: within 0.7 of the limit they agree again
HALF_A_DAY_MS = DAY_STEPS // 2 * STEP_MS  # a median of a day moves over the limit when half of the day is beyond it

Because = Literal["checked", "majority", "unknown"]


def because(apart: Apart, share: float = 1.0) -> Because | None:
    """Why a channel is to be doubted for being apart from its neighbours; None when it is not.

    Args:
        apart: how far it is from each.
        share: of the limits, 1 to open and less to stay.
    Returns:
        "checked": a surer probe says otherwise. "majority": two that agree with each other do. "unknown": it is apart
        from a probe no less sure and no surer. None: it is not apart, or it is in company while another stands
        alone, or only less sure ones say otherwise.
    Source: our choice.
    """
    beyond = apart.beyond(share)
    if beyond & apart.surer:
        return "checked"
    others = beyond - apart.less_sure
    company = apart.difference.keys() - beyond - apart.less_sure
    if not others or company:
        return None
    return "majority" if len(apart.difference) >= 2 and apart.agreeing else "unknown"


def judge(name: str, meant: frozenset[Because], situation: ChannelSituation, carried: Verdict | None) -> list[Verdict]:
    """Spells in which a channel was apart from its neighbours for a given reason.

    Args:
        name: the rule's.
        meant: the reasons that this rule is about.
        situation: own and neighbours on the grid, the same quantity at the same kind of site.
        carried: the spell open before the judged span.
    Returns:
        Verdicts with facts: since_ms (half a day before it was noticed), because, against (the neighbours' names,
        the furthest first), apart_by (own minus the furthest, a day's median), limit, largest_apart.
    Source: our choice of a day's median, because a cooler's cycle, a door and a round of care are gone from it.
    """
    start_ms, first = steps_of(situation)
    n = len(start_ms)
    doubtful, well, unknown = np.zeros(n, dtype=bool), np.zeros(n, dtype=bool), np.isnan(situation.own[:n])
    largest, seen = np.full(n, np.nan), _compared(situation, start_ms, first)
    for step, apart in seen.items():
        doubtful[step] = because(apart) in meant
        well[step] = because(apart, WELL_SHARE) not in meant
        largest[step] = max((abs(difference) for difference in apart.difference.values()), default=np.nan)
    steps = steps_saying(doubtful, well, unknown)

    def opening(step: int) -> dict[str, Any]:
        return {"since_ms": start_ms[step] + STEP_MS - HALF_A_DAY_MS, "because": because(seen[step])}

    def latest(step: int) -> dict[str, Any]:
        compared = [s for s in seen if s <= step]
        return _told(seen[compared[-1]]) if compared else {}

    return verdicts(name, start_ms, first, steps, carried, opening, latest, {"largest_apart": largest})


def _compared(situation: ChannelSituation, start_ms: Millis, first: int) -> dict[int, Apart]:
    """The comparison at the end of each full hour in which the channel was heard, in order of time.

    A channel that was hardly heard for a day says nothing; one without neighbours has nobody to disagree with.
    """
    if situation.quantity not in UNKNOWN_UNCERTAINTY:
        return {}
    heard = [int(s) for s in hourly_steps(start_ms, first) if not np.isnan(situation.own[s])]
    compared = {step: apart_at(situation, step) for step in heard}
    return {step: apart for step, apart in compared.items() if apart.difference or is_known(situation, step)}


def _told(apart: Apart) -> dict[str, Any]:
    far = sorted(apart.beyond(WELL_SHARE), key=lambda name: (-abs(apart.difference[name]), name))
    return {"against": far, "apart_by": apart.difference[far[0]], "limit": apart.limit[far[0]]}


def _rule(name: str, *meant: Because) -> Callable[[ChannelSituation, Verdict | None], list[Verdict]]:
    return partial(judge, name, frozenset(meant))


MEMORY_MS = DAY_STEPS * STEP_MS + 3_600_000
DISAGREES = ChannelRule(
    DISAGREES_NAME,
    "disagrees with surer probes beside it",
    "warn",
    MEMORY_MS,
    doubts=True,
    judge=_rule(DISAGREES_NAME, "checked", "majority"),
)
APART = ChannelRule(
    APART_NAME,
    "and the probe beside it cannot both be right",
    "note",
    MEMORY_MS,
    doubts=False,
    judge=_rule(APART_NAME, "unknown"),
)
