"""Which channels ever measured in a place; light, so that children may use it."""

from collections.abc import Sequence

from collector.air.channel import pieces
from collector.readings.model import Channel
from collector.records.facts import Facts, Place


def channels_ever_in(channels: Sequence[Channel], facts: Facts, place: Place, now_ms: int) -> list[Channel]:
    """The channels that were ever placed in a place or in those around it."""
    around: set[str | None] = set()
    step: Place | None = place
    while step is not None and step.id not in around:
        around.add(step.id)
        step = facts.places.get(step.parent_id or "")
    return [
        channel
        for channel in channels
        if any(p.placement and p.placement.place_id in around for p in pieces(channel, facts, 0, now_ms + 1))
    ]
