"""Clocks tell aware UTC times."""

from datetime import UTC, datetime, timedelta, timezone

import pytest

from collector.clock import ManualClock, SystemClock


def test_the_system_clock_is_aware() -> None:
    assert SystemClock().now().utcoffset() == timedelta(0)


def test_a_manual_clock_stands_still_until_it_is_moved() -> None:
    clock = ManualClock(datetime(2026, 3, 29, 2, 30, tzinfo=timezone(timedelta(hours=2))))
    assert clock.now() == clock.now() == datetime(2026, 3, 29, 0, 30, tzinfo=UTC)
    clock.advance(timedelta(hours=-1))
    assert clock.now() == datetime(2026, 3, 28, 23, 30, tzinfo=UTC)


def test_a_manual_clock_refuses_a_time_without_a_zone() -> None:
    with pytest.raises(ValueError, match="with a zone, got 2026-03-29T02:30:00"):
        ManualClock(datetime(2026, 3, 29, 2, 30))  # noqa: DTZ001
