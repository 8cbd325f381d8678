"""When a copy is made and one is tried: each night, by day when it was missed, at once when asked, once a month."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Engine

from collector.automatic_copies import AutomaticCopies, ask_for_copy, copy_due, trial_due
from collector.backup import second_place
from collector.backup.second_place import SecondPlace
from collector.clock import ManualClock
from collector.copies import COPY, FAILED, TRIAL, copies, copy_everything
from collector.records.engine import open_records
from collector.records.life import Sign, signs
from collector.settings import Settings
from tests.brokers import wait_for
from tests.collector.backup.conftest import full_folder, settings

__all__ = ["full_folder", "settings"]

THREE = datetime(2026, 3, 12, 3, 0).astimezone()  # of this machine's zone, as the night is
HOUR, DAY = timedelta(hours=1), timedelta(days=1)


def copied(at: datetime) -> Sign:
    return Sign(COPY, at, {})


@pytest.mark.parametrize(
    ("now", "last", "due"),
    [
        (THREE - HOUR, THREE - DAY, False),
        (THREE, THREE - DAY, True),
        (THREE + 8 * HOUR, THREE - DAY, True),
        (THREE + 8 * HOUR, THREE + HOUR, False),
        (THREE + 8 * HOUR, None, True),
        (THREE + HOUR, THREE + 30 * DAY, True),  # the clock was set back
    ],
)
def test_each_night_has_its_copy(now: datetime, last: datetime | None, due: bool) -> None:
    assert copy_due(now, copied(last) if last else None, None, None) is due


def test_one_that_failed_is_tried_again_an_hour_later_and_one_asked_for_at_once() -> None:
    last, now = copied(THREE - DAY), THREE + 3 * HOUR
    assert not copy_due(now, last, None, now - HOUR / 2)
    assert copy_due(now, last, None, now - 2 * HOUR)
    assert copy_due(now, copied(THREE), now, None)
    assert not copy_due(now, copied(THREE), now, now)


def test_a_copy_is_tried_each_month_and_daily_while_it_fails() -> None:
    def tried(ago: timedelta, well: bool) -> Sign:
        return Sign(TRIAL, THREE - ago, {"well": well})

    last = copied(THREE)
    assert not trial_due(THREE, None, None, None)
    assert trial_due(THREE, last, None, None)
    assert not trial_due(THREE, last, None, THREE - HOUR)
    assert not trial_due(THREE, last, tried(29 * DAY, True), None)
    assert trial_due(THREE, last, tried(31 * DAY, True), None)
    assert trial_due(THREE, last, tried(2 * DAY, False), None)
    assert trial_due(THREE, last, tried(-DAY, True), None)


def test_a_copy_and_its_trial_run_as_processes_of_their_own(settings: Settings, tmp_path: Path) -> None:
    records = open_records(settings.records_at)
    (tmp_path / "share").mkdir()
    duty = AutomaticCopies(settings, records, ManualClock(datetime.now(UTC)))
    duty.step()
    assert duty.sent_to() is None
    with records.begin() as db:
        second_place.save(db, SecondPlace("folder", str(tmp_path / "share")))
        ask_for_copy(db, datetime.now(UTC))
    assert duty.sent_to() == str(tmp_path / "share")

    def both_done() -> bool:
        duty.step()
        with records.connect() as db:
            found = signs(db)
        return TRIAL in found and bool(found[TRIAL].facts["well"])

    wait_for(both_done, 60, "copied and tried")
    duty.stop()
    assert len(copies(tmp_path / "share")) == 1
    records.dispose()


def failed(duty: AutomaticCopies, records: Engine, part: str) -> dict[str, Any]:
    """Steps until the sign of a part tells a failure; what it says."""

    def facts() -> dict[str, Any]:
        with records.connect() as db:
            found = signs(db).get(part)
        return found.facts if found else {}

    def told() -> bool:
        duty.step()
        return bool(facts().get("reason"))

    wait_for(told, 60, "the failure is told")
    return facts()


def test_why_a_copy_failed_is_kept_until_the_next_one_and_so_is_one_that_was_killed(
    settings: Settings, tmp_path: Path
) -> None:
    records, clock = open_records(settings.records_at), ManualClock(datetime.now(UTC))
    duty = AutomaticCopies(settings, records, clock)
    with records.begin() as db:
        second_place.save(db, SecondPlace("folder", str(tmp_path / "gone" / "away")))
    assert "No such file" in failed(duty, records, FAILED)["reason"]
    with records.begin() as db:
        (tmp_path / "share").mkdir()
        second_place.save(db, SecondPlace("folder", str(tmp_path / "share")))
    copy_everything(settings, records, clock)
    with records.connect() as db:
        assert signs(db)[FAILED].facts == {"reason": ""}
    wait_for(lambda: [duty.step(), duty._doing] == [None, "restore"], what="the copy that there is now is tried")
    assert duty._child is not None
    duty._child.kill()
    assert failed(duty, records, TRIAL) == {"well": False, "reason": "it was ended before it was done"}
    duty.stop()
    records.dispose()
