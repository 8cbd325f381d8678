"""Rules about probes: which of them is not to be believed, and why.

To add one: a module with a ChannelRule, a row here, a row in causes.py.
"""

from collections.abc import Iterable, Mapping

from collector.rules.model import ChannelRule, Verdict
from collector.rules.trust.battery_low import BATTERY_LOW
from collector.rules.trust.creeping import CREEPING
from collector.rules.trust.disagrees import APART, DISAGREES
from collector.rules.trust.impossible import IMPOSSIBLE
from collector.rules.trust.jumping import JUMPING
from collector.rules.trust.saturated import SATURATED
from collector.rules.trust.stuck import STUCK

CHANNEL_RULES: tuple[ChannelRule, ...] = (
    STUCK,
    IMPOSSIBLE,
    JUMPING,
    DISAGREES,
    APART,
    CREEPING,
    SATURATED,
    BATTERY_LOW,
)

BY_NAME: Mapping[str, ChannelRule] = {rule.name: rule for rule in CHANNEL_RULES}


def doubtful_spans(found: Iterable[Verdict], until_ms: int) -> list[tuple[int, int]]:
    """The spans in which a channel's readings are to be set aside.

    Args:
        found: verdicts about one channel, of any rules.
        until_ms: where a spell that still lasts ends for now [ms].
    Returns:
        (from, to) [ms], to excluded, in order and without overlap. A spell reaches back to its fact since_ms: a probe
        that is found to hang has hung since its first repeated number.
    """
    spans = sorted(
        (
            min(int(v.facts.get("since_ms", v.opened_ms)), v.opened_ms),
            until_ms if v.cleared_ms is None else v.cleared_ms,
        )
        for v in found
        if (rule := BY_NAME.get(v.rule)) is not None and rule.doubts
    )
    merged: list[tuple[int, int]] = []
    for start, end in spans:
        if merged and start <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(end, merged[-1][1]))
        elif end > start:
            merged.append((start, end))
    return merged
