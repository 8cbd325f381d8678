"""The vigil: one warning for each probe that falls silent, one for all of them, one after an outage, and no storm."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from collector.records.tables import probe_setting
from collector.vigilance.findings import Handed
from tests.collector.vigil_house import VigilHouse, opened


@pytest.fixture
def house(records_path: Path, tmp_path: Path) -> Iterator[VigilHouse]:
    yield from opened(records_path, tmp_path)


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
