"""Times of arrival that tell the messages of one topic apart."""

from collections import OrderedDict

TOPICS = 10_000  # remembered at most
LONGEST_PUSH_MS = 10_000  # a queue that empties at once; a larger step is the clock being put back


class Arrivals:
    """A bare number is kept by its time of arrival: of two that come within a millisecond neither may be lost."""

    def __init__(self) -> None:
        self._last: OrderedDict[str, int] = OrderedDict()

    def stamp(self, topic: str, now_ms: int) -> int:
        """The time of arrival, at least a millisecond after the one before on that topic."""
        last = self._last.pop(topic, None)
        if last is not None and 0 <= last - now_ms < LONGEST_PUSH_MS:
            now_ms = last + 1
        self._last[topic] = now_ms
        if len(self._last) > TOPICS:
            self._last.popitem(last=False)
        return now_ms
