"""What the time is: handed in, so that tests and the demo can set it."""

from datetime import UTC, datetime, timedelta
from typing import Protocol


class Clock(Protocol):
    """Says what time it is, as an aware UTC time."""

    def now(self) -> datetime: ...


class SystemClock:
    """This machine's clock."""

    def now(self) -> datetime:
        return datetime.now(UTC)


class ManualClock:
    """A clock that stands still until it is set or moved on."""

    def __init__(self, now_at: datetime) -> None:
        self.set(now_at)

    def now(self) -> datetime:
        return self._now_at

    def set(self, now_at: datetime) -> None:
        """Set the clock, back or forth.

        Raises:
            ValueError: a time without a zone.
        """
        if now_at.tzinfo is None:
            raise ValueError(f"a clock needs a time with a zone, got {now_at.isoformat()}")
        self._now_at = now_at.astimezone(UTC)

    def advance(self, by: timedelta) -> None:
        self.set(self._now_at + by)
