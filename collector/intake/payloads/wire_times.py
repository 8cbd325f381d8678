"""Times as plain JSON has them, and the span of time that any message may speak of."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from collector.intake.payloads.decoded import UNTIMED, TimeForm, WireTime
from collector.intake.payloads.wire_numbers import Unreadable, described, finite, number_in

# Keys that can hardly mean anything else, in lower case; common practice, no source.
TIME_KEYS = frozenset({"time", "timestamp", "ts", "datetime", "date_time"})

LATEST_S = 253_402_300_799  # the end of the year 9999, where dates end
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_RELATIVE_BELOW_S = 2**28  # RFC 8428 section 4.5.3: 1978; below it a number is a span or an uptime
_MS_FROM = 100_000_000_000  # as seconds the year 5138, as milliseconds 1973


def time_of(value: object, form: TimeForm | None = None) -> WireTime:
    """The time that a JSON value says.

    Args:
        value: RFC 3339 text, or seconds or milliseconds since 1970-01-01T00:00Z, as number or text.
        form: as a person said it, or None to go by text or number, and by a number's size.
    Raises:
        Unreadable: no time, a time without its zone (it could be anybody's noon), or out of range.
    """
    written = number_in(value) if isinstance(value, str) else None
    if written is not None and not written[1]:
        return _from_number(written[0], form)
    if isinstance(value, str):
        return _from_text(value, form)
    return _from_number(finite(value), form)


def _from_number(number: float, form: TimeForm | None) -> WireTime:
    if form == "rfc3339":
        raise Unreadable(f"must be a date and time, got {number:g}")
    if form is None and number < _RELATIVE_BELOW_S:
        raise Unreadable(f"{number:g} is no time of day: seconds since 1970 start at 1978")
    in_ms = form == "ms" or (form is None and number >= _MS_FROM)
    seconds = number / 1000 if in_ms else number
    if not 0 <= seconds <= LATEST_S:
        raise Unreadable(f"time must lie in the years 1970 to 9999, got {number:g}")
    return WireTime.absolute(round(number if in_ms else number * 1000))


def _from_text(text: str, form: TimeForm | None) -> WireTime:
    if form in {"s", "ms"}:
        raise Unreadable(f"must be a number of {form}, got {described(text)}")
    try:
        taken_at = datetime.fromisoformat(text.strip().upper())
    except ValueError as wrong:
        raise Unreadable(f"{described(text)} is no date and time") from wrong
    if taken_at.tzinfo is None:
        raise Unreadable(f"{described(text)} has no time zone, so it is not used; the time of arrival is")
    since_ms = (taken_at - _EPOCH) // timedelta(milliseconds=1)
    if since_ms < 0:
        raise Unreadable(f"time must lie in the years 1970 to 9999, got {described(text)}")
    return WireTime.absolute(since_ms)


def time_or_note(value: object, form: TimeForm | None = None) -> tuple[WireTime, str]:
    """As `time_of`, but what cannot be used is UNTIMED together with the reason."""
    try:
        return time_of(value, form), ""
    except Unreadable as wrong:
        return UNTIMED, str(wrong)
