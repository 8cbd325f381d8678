"""The vigil: one warning for each probe that falls silent, one for all of them, one after an outage, and no storm."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import event
from sqlalchemy.exc import OperationalError

from collector.clock import ManualClock
from collector.notify.delivery import deliver
from collector.records.engine import open_records
from collector.records.life import sign
from collector.records.tables import probe_setting
from collector.vigilance.collector_watch import CollectorWatch
from collector.vigilance.disk import DiskUse
from collector.vigilance.findings import Handed
from tests.collector.notify.builders import NOON, Kept
from tests.collector.vigil_house import VigilHouse


@pytest.fixture
def house(records_path: Path, tmp_path: Path) -> Iterator[VigilHouse]:
    engine = open_records(f"sqlite:///{records_path}")
    event.listen(engine, "connect", lambda db, _record: db.execute("PRAGMA synchronous=OFF"))  # only to be quicker
    own = VigilHouse(engine, tmp_path)
    yield own
    own.readings.close()
    own.store.close()
    engine.dispose()


def lost(house: VigilHouse) -> None:
    house.handed = Handed(broker_connected=False, broker_since_at=house.now)


def back(house: VigilHouse) -> None:
    house.handed = Handed(broker_connected=True, broker_since_at=house.now)


def test_a_silent_probe_gets_one_warning_and_one_all_clear(house: VigilHouse) -> None:
    mail = house.add_channel()
    house.place("shelf", "door")
    house.history("shelf", "door")
    house.speaking = {"shelf": 1, "door": 1}
    house.watch(10)
    del house.speaking["shelf"]
    house.watch(120)
    [silent] = house.warnings("probe_silent")
    assert silent.probe == "shelf"
    assert silent.opened_at - house.now >= timedelta(minutes=-101)
    assert house.kept[mail].titles == ["Probe shelf (Lower fridge): silent"]
    house.speaking["shelf"] = 1
    house.watch(30)
    assert house.kept[mail].titles[1:] == ["Probe shelf (Lower fridge): heard again"]
    assert house.open_rules() == []


@pytest.mark.parametrize(("every_min", "silent_after_min"), [(1, 20), (10, 30), (60, 180)])
def test_a_probe_is_judged_by_its_own_usual_interval(
    house: VigilHouse, every_min: float, silent_after_min: float
) -> None:
    house.place("shelf")
    house.history("shelf", every_min=every_min, count=20)
    house.speak("shelf")
    house.watch(silent_after_min, step_min=1)
    assert house.open_rules() == []
    house.watch(2, step_min=1)
    assert house.open_rules() == ["probe_silent"]


def test_a_probe_that_reports_on_change_is_judged_by_its_promise(house: VigilHouse) -> None:
    house.place("shelf")
    house.history("shelf")
    house.store.hold("shelf", 3_600)
    house.speak("shelf")
    house.watch(119)
    assert house.open_rules() == []
    house.watch(3)
    assert house.open_rules() == ["probe_silent"]


def test_a_probe_that_speaks_more_seldom_from_now_on_is_learned(house: VigilHouse) -> None:
    house.place("shelf")
    house.history("shelf")
    house.speaking = {"shelf": 60}
    house.watch(6 * 60, step_min=10)
    before = len(house.warnings("probe_silent"))
    house.watch(12 * 60, step_min=10)
    assert len(house.warnings("probe_silent")) == before


def test_probes_that_hang_nowhere_or_were_put_aside_are_not_missed(house: VigilHouse) -> None:
    house.place("aside")
    house.history("aside", "nowhere")
    with house.records.begin() as connection:
        connection.execute(probe_setting.insert().values(probe="aside", dismissed_at=house.now))
    house.watch(300, step_min=10)
    assert house.open_rules() == []


def test_thirty_probes_silent_because_the_broker_is_away_are_one_message(house: VigilHouse) -> None:
    mail = house.add_channel()
    probes = [f"p{n}" for n in range(30)]
    house.place(*probes)
    house.history(*probes, count=10)
    house.speaking = dict.fromkeys(probes, 1)
    house.watch(5)
    house.speaking = {}
    lost(house)
    house.watch(180, step_min=5)
    assert house.kept[mail].titles == ["rindwatch: no connection to the probes' broker"]
    assert "30 probes" in house.kept[mail].messages[0].body
    assert house.warnings("probe_silent") == []
    back(house)
    house.speaking = dict.fromkeys(probes, 1)
    house.watch(90, step_min=5)
    assert house.kept[mail].titles[1:] == ["rindwatch: the probes' broker is back"]
    assert len(house.kept[mail].messages) == 2


def test_a_broker_that_restarts_is_no_warning(house: VigilHouse) -> None:
    lost(house)
    house.watch(4)
    back(house)
    house.watch(10)
    assert house.warnings("broker_lost") == []


def test_all_probes_silent_together_are_one_message(house: VigilHouse) -> None:
    mail = house.add_channel()
    house.place("a", "b", "c")
    house.history("a", "b", "c")
    house.speaking = {"a": 1, "b": 1, "c": 1}
    house.watch(5)
    house.speaking = {}
    house.watch(120)
    assert house.kept[mail].titles == ["rindwatch: no probe heard"]
    assert house.warnings("probe_silent") == []


def test_a_slow_probe_does_not_hide_that_all_are_silent(house: VigilHouse) -> None:
    house.place("a", "b", "slow")
    house.history("slow", every_min=60, count=20)
    house.history("a", "b")
    house.watch(60)
    assert house.open_rules() == ["nothing_heard"]


def test_after_the_router_is_back_what_stays_silent_is_named(house: VigilHouse) -> None:
    mail = house.add_channel()
    house.place("a", "b", "c")
    house.history("a", "b", "c")
    house.watch(60)
    house.speaking = {"a": 1, "b": 1}
    house.watch(15)
    assert house.open_rules() == []
    house.watch(60)
    assert house.open_rules() == ["probe_silent"]
    told = " ".join(f"{m.title} {m.body}" for m in house.kept[mail].messages)
    assert "Probe c (Lower fridge)" in told


def test_after_a_power_cut_there_is_one_message(house: VigilHouse) -> None:
    """Off from 12:05 to 15:35 and back in at 9.8 degrees: warming for a while, then cooling again."""
    mail = house.add_channel()
    house.place("a", "b")
    house.place("c", place_id="cellar")
    house.history("a", "b", "c")
    house.speaking = dict.fromkeys("abc", 1)
    house.watch(5)
    house.speaking = {}
    house.clock.advance(timedelta(minutes=210))
    house.restart()
    house.speaking = dict.fromkeys("abc", 1)
    for warmth in (9.8, 10.0, 10.2, 10.4, 10.6, 10.8, 10.9, 11.0, *(11.0 - 0.1 * n for n in range(1, 30))):
        house.warmth = warmth
        house.watch(1)
        if house.now.minute == 53:  # the page shows what waits, as far as it is known
            assert "Lower fridge came back at 9.8 °C, now" in house.rows()[-1].body
    house.warmth = 8.0
    house.watch(60)
    assert len(house.kept[mail].messages) == 1
    [only] = house.kept[mail].messages
    assert only.title == "rindwatch: probes are heard again"
    assert "Nothing heard 12:05 to 15:36 (power or network)." in only.body
    assert "Lower fridge came back at 9.8 °C, cooling again since 15:43." in only.body
    assert house.open_rules() == []


def test_a_drift_that_began_in_the_outage_joins_its_message(house: VigilHouse) -> None:
    from tests.collector.notify.builders import a_warning

    mail = house.add_channel()
    house.place("a", "b")
    house.history("a", "b")
    house.speaking = dict.fromkeys("ab", 1)
    house.watch(5)
    house.clock.advance(timedelta(minutes=210))
    house.restart()
    house.watch(12)
    house.open(a_warning(opened_at=house.now))
    house.watch(60)
    assert [m.title for m in house.kept[mail].messages] == ["Lower fridge: too warm"]
    assert "Too warm" in house.kept[mail].messages[0].body
    assert "Nothing heard 12:05 to 15:36" in house.kept[mail].messages[0].body


def test_probes_that_kept_what_they_measured_make_no_outage(house: VigilHouse) -> None:
    mail = house.add_channel()
    house.place("a", "b")
    house.history("a", "b")
    house.speaking = dict.fromkeys("ab", 1)
    house.watch(5)
    away_from = house.now
    house.clock.advance(timedelta(minutes=210))
    house.restart()
    for n in range(1, 210):
        house.speak("a", "b", taken_at=away_from + timedelta(minutes=n))
    house.watch(60)
    assert house.kept[mail].messages == []
    [outage] = house.warnings("nothing_heard")
    assert outage.withdrawn_at is not None


def test_a_short_stop_is_not_spoken_of(house: VigilHouse) -> None:
    mail = house.add_channel()
    house.place("a", "b")
    house.history("a", "b")
    house.clock.advance(timedelta(minutes=25))
    house.restart()
    house.speaking = dict.fromkeys("ab", 1)
    house.watch(60)
    assert house.kept[mail].messages == []
    assert house.warnings("nothing_heard") == []


def test_a_start_after_a_long_stop_raises_no_storm(house: VigilHouse) -> None:
    mail = house.add_channel()
    probes = [f"p{n}" for n in range(20)]
    house.place(*probes)
    house.history(*probes, count=10)
    house.clock.advance(timedelta(days=3))
    house.restart()
    house.speaking = dict.fromkeys(probes, 1)
    house.watch(120, step_min=5)
    assert len(house.kept[mail].messages) == 1
    assert house.warnings("probe_silent") == []


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
    house.copies_since_at = house.now
    house.restart()
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
