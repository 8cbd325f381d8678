"""Instants as aware times and as milliseconds since 1970; pure."""

from datetime import UTC, datetime, timedelta

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MS = timedelta(milliseconds=1)


def to_ms(at: datetime) -> int:
    """Milliseconds since 1970 UTC of an aware time."""
    return (at - _EPOCH) // _MS


def from_ms(ms: int) -> datetime:
    """The aware UTC time of milliseconds since 1970."""
    return _EPOCH + timedelta(milliseconds=int(ms))
