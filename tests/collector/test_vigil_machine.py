"""The vigil over the machine itself: store, disk, clocks, copies, records and the collector."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import event
from sqlalchemy.exc import OperationalError

from collector.clock import ManualClock
from collector.notify.delivery import deliver
from collector.records.life import sign
from collector.vigilance.collector_watch import CollectorWatch
from collector.vigilance.disk import DiskUse
from collector.vigilance.findings import Handed, SecondStore
from tests.collector.notify.builders import NOON, Kept
from tests.collector.vigil_house import VigilHouse, opened


@pytest.fixture
def house(records_path: Path, tmp_path: Path) -> Iterator[VigilHouse]:
    yield from opened(records_path, tmp_path)


def test_the_store_that_refuses_is_urgent(house: VigilHouse) -> None:
    mail = house.add_channel()
    house.handed = Handed(True, NOON, store_refusing_since_at=house.now, store_reason="database or disk is full")
    house.watch(2)
    assert house.kept[mail].titles == ["Urgent: rindwatch: readings cannot be kept"]
    assert "database" not in house.kept[mail].messages[0].body
    house.handed = Handed(True, NOON)
    house.watch(15)
    assert house.kept[mail].titles[1:] == ["rindwatch: readings are kept again"]


def test_a_disk_nearly_full_is_told_with_how_long_it_lasts(house: VigilHouse) -> None:
    mail = house.add_channel()
    for _ in range(8):
        house.watch(1_440, step_min=720)
        house.disk = DiskUse(house.disk.free - 5_000_000_000, house.disk.total)
    assert house.open_rules() == ["disk_low"]
    house.watch(20)
    assert house.kept[mail].titles == ["rindwatch: disk nearly full"]
    assert "At this pace it lasts about" in house.kept[mail].messages[0].body
    house.disk = DiskUse(90_000_000_000, house.disk.total)
    house.watch(1_440, step_min=60)
    assert house.open_rules() == []


def test_the_disks_days_outlive_a_restart(house: VigilHouse) -> None:
    for _ in range(8):
        house.watch(1_440, step_min=720)
        house.disk = DiskUse(house.disk.free - 5_000_000_000, house.disk.total)
        house.restart()
    house.watch(1)
    assert house.open_rules() == ["disk_low"]


def test_a_clock_that_jumps_is_told(house: VigilHouse) -> None:
    mail = house.add_channel()
    house.place("a")
    house.history("a")
    house.speaking = {"a": 1}
    house.watch(20)
    house.clock.advance(timedelta(hours=-3))
    house.watch(30)
    [jump] = house.warnings("clock_astray")
    assert jump.facts["by_s"] == pytest.approx(-10_800, abs=1)
    assert jump.cleared_at is not None
    assert "It went back by 3 h" in house.kept[mail].messages[0].body


def test_a_clock_that_is_set_right_after_the_start_is_shown_only(house: VigilHouse) -> None:
    mail = house.add_channel()
    house.restart()
    house.watch(1)
    house.clock.advance(timedelta(hours=3))
    house.watch(30)
    [jump] = house.warnings("clock_astray")
    assert jump.severity == "note"
    assert house.kept[mail].messages == []


def test_a_clock_behind_its_own_readings_is_told(house: VigilHouse) -> None:
    house.place("a")
    house.history("a")
    house.clock.advance(timedelta(hours=-5))
    house.restart()
    house.watch(1)
    assert house.open_rules() == ["clock_astray"]
    house.clock.advance(timedelta(hours=5))
    house.watch(1)
    assert house.open_rules() == []


AHEAD = "temperature: taken 2026-03-12 13:00 UTC, 60 min after it arrived: the clock is ahead"


def test_one_probe_from_the_future_is_that_probes_clock(house: VigilHouse) -> None:
    house.place("a", "b", "c")
    house.history("a", "b", "c")
    house.refuse("a", AHEAD)
    house.watch(1)
    assert [(w.rule, w.probe) for w in house.warnings("probe_clock")] == [("probe_clock", "a")]
    house.speaking = dict.fromkeys("abc", 1)
    house.watch(35)
    assert house.open_rules() == []


def test_most_probes_from_the_future_are_our_own_clock(house: VigilHouse) -> None:
    house.place("a", "b", "c")
    house.history("a", "b", "c")
    house.refuse("a", AHEAD)
    house.refuse("b", AHEAD)
    house.watch(1)
    assert house.open_rules() == ["clock_astray"]


def test_a_copy_too_old_is_told(house: VigilHouse) -> None:
    mail = house.add_channel()
    house.copies_to = ""
    sign(house.records, "copy", house.now, {})
    house.watch(3 * 1_440 - 10, step_min=30)
    assert house.open_rules() == []
    house.watch(60, step_min=5)
    assert house.kept[mail].titles == ["rindwatch: no fresh copy"]
    assert "The newest is of 12 March 12:00." in house.kept[mail].messages[0].body
    sign(house.records, "copy", house.now, {})
    house.watch(30)
    assert house.open_rules() == []


def test_nobody_who_asked_for_no_copies_is_told_of_them(house: VigilHouse) -> None:
    house.watch(10 * 1_440, step_min=720)
    assert house.open_rules() == []


def test_nothing_is_written_while_nothing_changes(house: VigilHouse) -> None:
    house.place("a")
    house.history("a")
    house.speaking = {"a": 1}
    house.watch(2)
    begun = []
    event.listen(house.records, "begin", lambda c: begun.append(c.get_execution_options().get("rindwatch_readonly")))
    house.watch(30)
    assert begun
    assert all(begun)


def test_records_that_cannot_be_written_are_distress(house: VigilHouse, monkeypatch: pytest.MonkeyPatch) -> None:
    class Full:
        def begin(self) -> None:
            raise OperationalError("INSERT", {}, Exception("database or disk is full"))

        def __getattr__(self, name: str) -> object:
            return getattr(house.records, name)

    house.watch(1)
    assert house.vigil.is_well()
    assert house.vigil.distress() is None
    house.handed = Handed(True, NOON, store_refusing_since_at=house.now - timedelta(minutes=5))
    monkeypatch.setattr(house.vigil, "_records", Full())
    monkeypatch.setattr("collector.vigil.DISTRESS_AFTER_S", 0.0)
    with pytest.raises(OperationalError):
        house.vigil.step(house.handed)
    words = house.vigil.distress()
    assert words is not None
    assert words.title == "Urgent: rindwatch: readings cannot be kept"
    monkeypatch.setattr(house.vigil, "_records", house.records)
    house.vigil.step(house.handed)
    assert house.vigil.distress() is None


def test_the_dashboard_tells_when_the_collector_is_silent(house: VigilHouse) -> None:
    mail = house.add_channel()
    sign(house.records, "collector", house.now, {})
    watch = CollectorWatch(house.records, house.make, house.clock)
    house.clock.advance(timedelta(minutes=4))
    watch.step()
    assert house.open_rules() == []
    house.clock.advance(timedelta(minutes=2))
    watch.step()
    assert house.kept[mail].titles == ["Urgent: rindwatch: the watch has stopped"]
    sign(house.records, "collector", house.now, {})
    watch.step()
    assert house.open_rules() == []


def test_a_collector_that_starts_with_the_dashboard_is_given_its_time(house: VigilHouse) -> None:
    sign(house.records, "collector", house.now - timedelta(days=2), {})
    watch = CollectorWatch(house.records, house.make, ManualClock(house.now))
    watch.step()
    assert house.open_rules() == []


def test_messages_of_the_vigil_go_out_like_any_other(house: VigilHouse) -> None:
    phone = house.add_channel("webhook")
    house.place("a")
    house.history("a")
    house.watch(60)
    assert isinstance(house.kept[phone], Kept)
    assert deliver(house.records, house.make, house.clock).sent == 0
    assert house.kept[phone].messages[0].problems[0]["probe"] == "a"


def test_a_copy_that_failed_is_told_at_once_and_over_with_the_next_one(house: VigilHouse) -> None:
    mail = house.add_channel()
    house.copies_to = ""
    sign(house.records, "copy", house.now - timedelta(days=4), {})
    sign(house.records, "copy_failed", house.now, {"reason": "/mnt/usb: disk full"})
    house.watch(20)
    assert house.open_rules() == ["copy_failed"]  # and not also that the newest is old
    assert house.kept[mail].titles == ["rindwatch: no copy could be made"]
    assert "The newest is of 8 March 12:00." in house.kept[mail].messages[0].body
    sign(house.records, "copy", house.now, {})
    sign(house.records, "copy_failed", house.now, {"reason": ""})
    house.watch(30)
    assert house.open_rules() == []
    assert house.kept[mail].titles[1:] == ["rindwatch: a copy was made again"]


def test_a_second_place_that_took_no_copy_is_told_unless_it_is_no_longer_wanted(house: VigilHouse) -> None:
    mail = house.add_channel()
    house.copies_to = "keeper@nas:rindwatch"
    sign(house.records, "copy", house.now, {})
    facts = {"where": "keeper@nas:rindwatch", "reason": "rsync failed with 255", "good_ms": None}
    sign(house.records, "second_copy", house.now, facts)
    house.watch(20)
    assert house.kept[mail].titles == ["rindwatch: the newest copy did not reach the second place"]
    assert "No copy has reached it yet" in house.kept[mail].messages[0].body
    assert "rsync" not in house.kept[mail].messages[0].body
    house.copies_to = "/mnt/usb"
    house.watch(30)
    assert house.open_rules() == []


def test_a_trial_that_failed_is_told_and_over_with_the_next_one(house: VigilHouse) -> None:
    mail = house.add_channel()
    house.copies_to = ""
    sign(house.records, "copy", house.now, {})
    sign(house.records, "restore_tried", house.now, {"well": False, "reason": "damaged in photos/a.jpg"})
    house.watch(20)
    assert house.kept[mail].titles == ["rindwatch: a copy could not be restored on trial"]
    sign(house.records, "restore_tried", house.now, {"well": True})
    house.watch(30)
    assert house.kept[mail].titles[1:] == ["rindwatch: a copy was restored on trial again"]


def test_a_second_store_behind_for_a_day_is_told_and_over_when_it_has_all(house: VigilHouse) -> None:
    mail, began_at = house.add_channel(), house.now - timedelta(days=9)
    house.handed = Handed(True, NOON, second=SecondStore("away", began_at, house.now))
    house.watch(1_439, step_min=60)
    assert house.open_rules() == []
    house.watch(20)
    assert house.kept[mail].titles == ["rindwatch: second store of readings behind"]
    assert house.kept[mail].messages[0].body.startswith("It has everything up to yesterday 12:00. It does not answer.")
    house.handed = Handed(True, NOON, second=SecondStore("following", began_at, house.now - timedelta(hours=3)))
    house.watch(5)
    assert house.open_rules() == ["second_store_behind"]
    house.handed = Handed(True, NOON, second=SecondStore("following", began_at, house.now))
    house.watch(30)
    assert house.kept[mail].titles[1:] == ["rindwatch: the second store of readings is complete again"]


def test_a_second_store_that_is_being_filled_for_days_is_told_as_that(house: VigilHouse) -> None:
    mail = house.add_channel()
    house.handed = Handed(True, NOON, second=SecondStore("following", house.now - timedelta(days=2)))
    house.watch(20)
    assert house.kept[mail].messages[0].body.startswith("It has not been complete yet. It is being filled.")
