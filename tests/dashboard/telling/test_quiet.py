"""Quiet hours and snoozes as typed."""

from datetime import timedelta

import pytest

from collector.errors import EntryRefused
from collector.notify.holding import QuietHours
from dashboard.telling.quiet import quiet_form, read_quiet, read_snooze
from tests.dashboard.conftest import NOW_AT


def test_quiet_hours_over_midnight_come_back_as_they_were_typed() -> None:
    quiet = read_quiet({"on": "yes", "from": "22:30", "to": "6:45", "urgent": "yes"})
    assert quiet == QuietHours(22 * 60 + 30, 6 * 60 + 45, True)
    assert quiet_form(quiet).texts == {"on": "yes", "from": "22:30", "to": "06:45", "urgent": "yes"}


def test_switched_off_there_are_none() -> None:
    assert read_quiet({"from": "22:00", "to": "07:00"}) is None
    assert quiet_form(None).text("on") == ""


@pytest.mark.parametrize(
    ("typed", "field"),
    [({"from": "25:00", "to": "7:00"}, "from"), ({"from": "22:00", "to": ""}, "to"),
     ({"from": "22:00", "to": "22:00"}, "to")],
)  # fmt: skip
def test_a_time_that_no_day_has_is_refused(typed: dict[str, str], field: str) -> None:
    with pytest.raises(EntryRefused) as caught:
        read_quiet({"on": "yes", **typed})
    assert caught.value.field == field


def test_a_snooze_is_for_oneself_unless_one_says_everybody() -> None:
    assert read_snooze({"hours": "4"}, NOW_AT, "p") == (NOW_AT + timedelta(hours=4), "p")
    assert read_snooze({"hours": "24", "whom": "all"}, NOW_AT, "p") == (NOW_AT + timedelta(days=1), None)


@pytest.mark.parametrize("typed", [{"hours": "5"}, {}, {"hours": "4", "whom": "them"}])
def test_a_snooze_that_there_is_not_is_refused(typed: dict[str, str]) -> None:
    with pytest.raises(EntryRefused):
        read_snooze(typed, NOW_AT, "p")
