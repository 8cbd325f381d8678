"""Judging a span again, piece by piece, until the rest cannot have changed; pure but for what it is handed."""

from collections.abc import Callable

from collector.air.model import STEP_MS
from collector.rules.model import Verdict

Judge = Callable[[int, int, Verdict | None], list[Verdict]]
PIECE_MS = 60 * 86_400_000  # our choice: one piece of air fits easily into memory


def judge_span(
    judge: Judge,
    carried: Verdict | None,
    start_ms: int,
    quiet_from_ms: int,
    until_ms: int,
    stored_open: Callable[[int], bool],
) -> tuple[list[Verdict], int]:
    """Judge from a step on until the end, or until the stored verdicts hold again.

    Args:
        judge: judges [from, to) with the spell that was open at from.
        carried: the spell that was open at start_ms.
        start_ms: first step to judge. until_ms: end of the last complete step.
        quiet_from_ms: from here on nothing that the rule can see has changed.
        stored_open: whether a spell of the stored verdicts is open at a time.
    Returns:
        The spells from start_ms on, the carried one first, and where judging ended.
    """
    spells: list[Verdict] = []
    at = start_ms
    while at < until_ms:
        end = min(until_ms, at + PIECE_MS)
        if at < quiet_from_ms < end:
            end = min(end, -(-quiet_from_ms // STEP_MS) * STEP_MS)
        found = judge(at, end, carried)
        if carried is not None and spells:
            spells.pop()
        spells += found
        carried = found[-1] if found and found[-1].cleared_ms is None else None
        at = end
        if at >= quiet_from_ms and carried is None and not stored_open(at):
            break
    return spells, at
