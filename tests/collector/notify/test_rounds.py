"""Quiet hours and snoozes in the outbox, reminders, and who is told next."""

from datetime import timedelta

import pytest

from collector.errors import EntryRefused
from collector.notify.holding import QuietHours
from collector.notify.rounds import go_round
from collector.notify.wishes import DUTY_KEY, end_snooze, keep_quiet_hours, keep_snooze
from collector.records.warnings import CaveWarning, mark_seen
from tests.collector.notify.builders import House, a_warning

NIGHT = QuietHours(12 * 60, 19 * 60)  # it is noon in these tests


def quiet(house: House, person_id: str, hours: QuietHours | None = NIGHT) -> None:
    with house.records.begin() as connection:
        keep_quiet_hours(connection, person_id, hours)


def snooze(house: House, about: CaveWarning, hours: float, person_id: str | None = None) -> str:
    with house.records.begin() as connection:
        until = house.now + timedelta(hours=hours)
        return keep_snooze(connection, about, until, house.now, by="keeper", person_id=person_id)


def rounds(house: House, hours: float) -> None:
    for _ in range(int(hours * 6)):
        house.clock.advance(timedelta(minutes=10))
        go_round(house.records, house.now)
        house.deliver()


def test_in_quiet_hours_only_urgent_ones_come(house: House) -> None:
    me = house.add_person("me")
    mine, everyones = house.add_channel(person_id=me), house.add_channel()
    quiet(house, me)
    house.open(a_warning())
    house.wait(60)
    assert (house.kept[mine].titles, house.kept[everyones].titles) == ([], ["Lower fridge: too warm"])
    house.open(a_warning("store_refusing", None, severity="urgent", facts={}))
    house.wait(5)
    assert house.kept[mine].titles == ["Urgent: rindwatch: readings cannot be kept"]


def test_what_happened_in_quiet_hours_is_told_after_them_in_one_message(house: House) -> None:
    me = house.add_person("me")
    mine = house.add_channel(person_id=me)
    quiet(house, me)
    passing = a_warning()
    house.open(passing, a_warning(place_id="cellar"), a_warning("probe_silent", None, "shelf", facts={}))
    house.wait(60)
    house.clear(passing)
    house.wait(5 * 60 + 55, step_min=15)
    assert house.kept[mine].messages == []
    house.wait(10)
    [morning] = house.kept[mine].messages
    assert morning.kind == "several"
    assert "Lower fridge: Too warm for 3 h (10:00 to 13:00)." in morning.body
    assert "Cellar: Too warm" in morning.body


def test_no_quiet_hours_any_more_means_none(house: House) -> None:
    me = house.add_person("me")
    mine = house.add_channel(person_id=me)
    quiet(house, me)
    quiet(house, me, None)
    house.open(a_warning())
    house.wait(10)
    assert len(house.kept[mine].messages) == 1


@pytest.mark.parametrize("hours", [QuietHours(60, 60), QuietHours(-1, 60), QuietHours(0, 1_440)])
def test_quiet_hours_that_no_day_has_are_refused(house: House, hours: QuietHours) -> None:
    with pytest.raises(EntryRefused, match="Quiet hours"):
        quiet(house, house.add_person("me"), hours)


def test_a_snoozed_problem_that_comes_back_waits_for_the_end_of_the_snooze(house: House) -> None:
    mail = house.add_channel()
    first = a_warning()
    house.open(first)
    rounds(house, 0.5)
    snooze(house, first, 8)
    house.clear(first)
    rounds(house, 1)
    house.open(a_warning(opened_at=house.now))
    rounds(house, 6)
    assert [message.kind for message in house.kept[mail].messages] == ["opened"]
    rounds(house, 2)
    assert house.kept[mail].titles == ["Lower fridge: too warm", "Lower fridge: still too warm"]


def test_after_a_snooze_what_is_still_open_is_told_once_more(house: House) -> None:
    mail = house.add_channel()
    warm = a_warning()
    house.open(warm)
    rounds(house, 0.5)
    snooze(house, warm, 4)
    rounds(house, 3.5)
    assert len(house.kept[mail].messages) == 1
    rounds(house, 4)
    assert house.kept[mail].titles == ["Lower fridge: too warm", "Lower fridge: still too warm"]
    assert house.kept[mail].messages[1].thread == house.kept[mail].messages[0].id


def test_after_a_snooze_what_is_over_is_not_told(house: House) -> None:
    mail = house.add_channel()
    warm = a_warning()
    house.open(warm)
    rounds(house, 0.5)
    snooze(house, warm, 4)
    house.clear(warm)
    rounds(house, 6)
    assert "reminder" not in [message.kind for message in house.kept[mail].messages]


def test_a_snooze_ended_early_reminds_at_once(house: House) -> None:
    mail = house.add_channel()
    warm = a_warning()
    house.open(warm)
    rounds(house, 0.5)
    snooze_id = snooze(house, warm, 100)
    with house.records.begin() as connection:
        end_snooze(connection, snooze_id, house.now)
    rounds(house, 0.5)
    assert house.kept[mail].messages[-1].kind == "reminder"


def test_one_persons_snooze_leaves_others_alone(house: House) -> None:
    me, you = house.add_person("me"), house.add_person("you")
    mine, yours = house.add_channel(person_id=me), house.add_channel(person_id=you)
    warm = a_warning()
    house.open(warm)
    snooze(house, warm, 5, me)
    rounds(house, 1)
    assert (len(house.kept[mine].messages), len(house.kept[yours].messages)) == (0, 1)


def test_a_snooze_that_ends_in_the_past_is_refused(house: House) -> None:
    with pytest.raises(EntryRefused, match="still to come"):
        snooze(house, a_warning(), -1)


def test_the_next_on_duty_is_told_after_an_unseen_hour(house: House) -> None:
    people = [house.add_person(name) for name in ("one", "two", "three")]
    ways = [house.add_channel(person_id=person) for person in people]
    house.set(DUTY_KEY, people)
    house.open(a_warning())
    rounds(house, 1)
    assert [len(house.kept[way].messages) for way in ways] == [1, 0, 0]
    rounds(house, 1)
    assert [len(house.kept[way].messages) for way in ways] == [1, 1, 0]
    rounds(house, 1.5)
    assert [len(house.kept[way].messages) for way in ways] == [1, 1, 1]
    rounds(house, 5)
    assert [len(house.kept[way].messages) for way in ways] == [1, 1, 1]


def test_a_warning_that_somebody_saw_goes_no_further(house: House) -> None:
    one, two = house.add_person("one"), house.add_person("two")
    first, second = house.add_channel(person_id=one), house.add_channel(person_id=two)
    house.set(DUTY_KEY, [one, two])
    warm = a_warning()
    house.open(warm)
    rounds(house, 0.5)
    with house.records.begin() as connection:
        mark_seen(connection, warm.id, "one", house.now)
    rounds(house, 5)
    assert (len(house.kept[first].messages), len(house.kept[second].messages)) == (1, 0)


def test_everybody_who_was_told_gets_the_all_clear(house: House) -> None:
    one, two = house.add_person("one"), house.add_person("two")
    ways = [house.add_channel(person_id=person) for person in (one, two)]
    house.set(DUTY_KEY, [one, two])
    warm = a_warning()
    house.open(warm)
    rounds(house, 3)
    house.clear(warm)
    rounds(house, 1)
    assert [[m.kind for m in house.kept[way].messages] for way in ways] == [["opened", "cleared"]] * 2
