"""Which clocks an old log may have gone by. Summer time by the IANA time zone database (tzdata)."""

from datetime import UTC, datetime

import pytest

from dashboard.household import Household
from dashboard.probes.log_form import CLOCKS, clocks

NOW_AT = datetime(2026, 1, 15, 12, tzinfo=UTC)


@pytest.mark.parametrize(
    ("zone", "offered"),
    [
        ("Europe/Paris", ["summer", "winter", "utc"]),
        ("Asia/Tokyo", ["summer", "utc"]),  # no summer time since 1951
        ("Etc/UTC", ["summer"]),
        ("Africa/Abidjan", ["summer"]),  # UTC all year
    ],
)
def test_clocks_that_would_be_the_same_are_not_asked_for(zone: str, offered: list[str]) -> None:
    found = clocks(Household(time_zone=zone), NOW_AT)
    assert list(found) == offered
    assert set(found) <= set(CLOCKS)
    assert len(set(found.values())) == len(found)
