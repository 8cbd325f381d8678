"""Which spans of which channels have to be copied, told by the change log; pure."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from collector.readings.model import Change

LONG_MS = 86_400_000  # a longer span is copied piece by piece, behind what is new: our choice
JOIN_MS = 600_000  # spans so near are copied as one: our choice, copying again what lies between costs less
RAW_CAUSE, ROLLUP_CAUSE = "reading", "hold"


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of a channel, both ends included; without `raw` only its rollups have to be copied."""

    channel: int
    from_ms: int
    to_ms: int
    raw: bool = True


@dataclass(frozen=True, slots=True)
class Owed:
    """A span that is still to be copied."""

    id: int
    span: Span


@dataclass(frozen=True, slots=True)
class Vanished:
    """Steps of a channel's rollups, one behind the other, that are no more."""

    channel: int
    unit: int
    from_ms: int
    to_ms: int


def spans_of(changes: Iterable[Change]) -> list[Span]:
    """The spans to copy, in the order in which the log first names them.

    Args:
        changes: entries of the log in its order; those of other causes than readings and holding concern nobody here,
            since values are copied as sent.
    Returns:
        Spans of which no two of a channel and kind lie within JOIN_MS of each other.
    """
    by_channel: dict[tuple[int, bool], list[tuple[int, int, int]]] = defaultdict(list)
    for order, change in enumerate(changes):
        if change.channel is not None and change.cause in (RAW_CAUSE, ROLLUP_CAUSE):
            key = (change.channel, change.cause == RAW_CAUSE)
            by_channel[key].append((change.from_ms, change.to_ms, order))
    found = [(order, Span(key[0], a, b, key[1])) for key, own in by_channel.items() for a, b, order in _joined(own)]
    return [span for _, span in sorted(found, key=lambda pair: pair[0])]


def _joined(own: list[tuple[int, int, int]]) -> list[tuple[int, int, int]]:
    """From, to and place in the log, those that touch joined; the place of the first stays."""
    result: list[tuple[int, int, int]] = []
    for from_ms, to_ms, order in sorted(own):
        if result and from_ms <= result[-1][1] + JOIN_MS:
            before = result[-1]
            result[-1] = (before[0], max(before[1], to_ms), min(before[2], order))
        else:
            result.append((from_ms, to_ms, order))
    return result
