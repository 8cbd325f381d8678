"""Times in plain JSON. Forms: RFC 3339 section 5.8 (its examples) and Unix time."""

import pytest

from collector.intake.payloads.decoded import UNTIMED, WireTime
from collector.intake.payloads.wire_numbers import Unreadable
from collector.intake.payloads.wire_times import time_of, time_or_note


@pytest.mark.parametrize(
    ("value", "form", "ms"),
    [
        ("1985-04-12T23:20:50.52Z", None, 482196050520),  # RFC 3339 section 5.8, first example
        ("1996-12-19T16:39:57-08:00", None, 851042397000),  # second: 1996-12-20T00:39:57Z
        ("1937-01-01T12:00:27.87+00:20", None, None),  # last: before 1970, not on our scale
        ("2026-01-05t12:00:00z", None, 1767614400000),  # section 5.6: t and z may be lower case
        (1764000000, None, 1764000000000),
        (1764000000.5, None, 1764000000500),
        (1764000000123, None, 1764000000123),
        (" 1764000000 ", None, 1764000000000),
        ("1764000000123", "ms", 1764000000123),
        (1000, "s", 1000000),
        (1000, "ms", 1000),
    ],
)
def test_a_time_becomes_milliseconds(value, form, ms):
    if ms is None:
        with pytest.raises(Unreadable, match="1970 to 9999"):
            time_of(value, form)
    else:
        assert time_of(value, form) == WireTime.absolute(ms)


@pytest.mark.parametrize(
    ("value", "form", "reason"),
    [
        ("2026-01-05T12:00:00", None, "has no time zone"),
        ("2026-01-05", None, "has no time zone"),
        ("noon", None, "is no date and time"),
        ("1990-12-31T23:59:60Z", None, "is no date and time"),  # a leap second; no clock of ours has them
        (86_400, None, "seconds since 1970 start at 1978"),  # an uptime
        (1e300, None, "years 1970 to 9999"),
        (-1, "s", "years 1970 to 9999"),
        (1e17, "ms", "years 1970 to 9999"),
        (True, None, "must be a number, got true"),
        (None, None, "must be a number, got nothing"),
        ("noon", "s", "must be a number of s"),
        (1764000000, "rfc3339", "must be a date and time"),
        (1e999, None, "finite"),
        ("9999-12-31T23:59:59-23:59", None, None),
    ],
)
def test_what_is_no_time_is_untimed_with_the_reason(value, form, reason):
    time, note = time_or_note(value, form)
    if reason is None:
        assert time.absolute_ms is not None
        return
    assert time == UNTIMED
    assert reason in note
