"""Which message goes where: merged while untried, told once, ended once."""

from datetime import timedelta

import pytest

from collector.notify.outbox import enqueue
from collector.notify.wishes import DUTY_KEY
from collector.records.tables import warning
from collector.records.warnings import Outcome
from tests.collector.notify.builders import NOON, House, a_warning


def test_a_warning_reaches_each_channel_once(house: House) -> None:
    mail, hook = house.add_channel(), house.add_channel("webhook")
    house.open(a_warning())
    house.wait(60)
    assert house.kept[mail].titles == ["Lower fridge: too warm"]
    assert house.kept[hook].titles == ["Lower fridge: too warm"]


def test_an_all_clear_says_how_long_and_how_bad_once(house: House) -> None:
    mail = house.add_channel()
    warm = a_warning()
    house.open(warm)
    house.wait(60)
    house.clear(warm)
    house.wait(60)
    assert len(house.kept[mail].messages) == 2
    over = house.kept[mail].messages[1]
    assert over.title == "Lower fridge: all right again"
    assert "for 3 h (10:00 to 13:00)" in over.body
    assert "15.2 °C at worst" in over.body
    assert over.thread == house.kept[mail].messages[0].id


def test_a_warning_found_late_and_over_is_not_sent(house: House) -> None:
    mail = house.add_channel()
    house.open(a_warning(found_late=True, cleared_at=NOON + timedelta(minutes=30)))
    house.wait(60)
    assert house.kept[mail].messages == []


def test_a_warning_found_late_and_still_open_is_sent(house: House) -> None:
    mail = house.add_channel()
    house.open(a_warning(found_late=True))
    house.wait()
    assert len(house.kept[mail].messages) == 1


def test_a_note_is_not_sent(house: House) -> None:
    mail = house.add_channel()
    house.open(a_warning(severity="note"))
    house.wait(60)
    assert house.kept[mail].messages == []


def test_a_channel_for_urgent_ones_takes_no_others(house: House) -> None:
    mail = house.add_channel(least="urgent")
    house.open(a_warning(), a_warning("store_refusing", None, severity="urgent", facts={}))
    house.wait()
    assert house.kept[mail].titles == ["Urgent: rindwatch: readings cannot be kept"]


def test_problems_of_a_place_that_begin_together_are_one_message(house: House) -> None:
    mail = house.add_channel()
    house.open(a_warning("too_warm"))
    house.wait(8)
    house.open(a_warning("too_damp", opened_at=house.now))
    house.wait(60)
    assert house.kept[mail].titles == ["Lower fridge: too warm and too damp"]


def test_problems_of_two_places_are_two_messages(house: House) -> None:
    mail = house.add_channel()
    house.open(a_warning(), a_warning(place_id="cellar"))
    house.wait()
    assert sorted(house.kept[mail].titles) == ["Cellar: too warm", "Lower fridge: too warm"]


def test_an_urgent_one_goes_at_once_and_takes_along_what_waits(house: House) -> None:
    mail = house.add_channel()
    house.open(a_warning("disk_low", None, facts={}))
    house.deliver()
    assert house.kept[mail].messages == []
    house.open(a_warning("store_refusing", None, severity="urgent", facts={}))
    house.deliver()
    assert house.kept[mail].titles == ["Urgent: rindwatch: disk nearly full and readings cannot be kept"]


def test_what_is_over_before_it_went_is_told_as_over_in_one_message(house: House) -> None:
    mail = house.add_channel()
    warm = a_warning()
    house.open(warm)
    house.wait(5)
    house.clear(warm)
    house.wait(60)
    assert house.kept[mail].titles == ["Lower fridge: was too warm, all right again"]


def test_a_withdrawn_warning_that_was_sent_gets_one_correction(house: House) -> None:
    mail = house.add_channel()
    warm = a_warning()
    house.open(warm)
    house.wait(30)
    house.withdraw(warm)
    house.withdraw(warm)
    house.wait(60)
    assert house.kept[mail].titles == ["Lower fridge: too warm", "Lower fridge: it was no alarm"]


def test_an_end_that_is_found_twice_is_told_once(house: House) -> None:
    mail = house.add_channel()
    warm = a_warning()
    house.open(warm)
    house.wait(30)
    for _ in range(2):
        house.clear(warm)
        house.wait(30)
    assert [message.kind for message in house.kept[mail].messages] == ["opened", "cleared"]


def test_an_end_that_did_not_last_until_its_word_went_is_not_told(house: House) -> None:
    """A late reading shows that it was not over: the same warning is open again."""
    mail = house.add_channel()
    warm = a_warning()
    house.open(warm)
    house.wait(30)
    house.clear(warm)
    house.reopen(warm)
    house.wait(60)
    assert house.kept[mail].titles == ["Lower fridge: too warm"]


def test_a_withdrawn_warning_that_was_not_sent_is_dropped(house: House) -> None:
    mail = house.add_channel()
    warm = a_warning()
    house.open(warm)
    house.withdraw(warm)
    house.wait(60)
    assert house.kept[mail].messages == []
    assert [row.dropped_at is not None for row in house.rows()] == [True]


def test_a_problem_that_comes_back_within_ten_minutes_is_not_told_again(house: House) -> None:
    mail = house.add_channel()
    first = a_warning()
    house.open(first)
    house.wait(30)
    house.clear(first)
    house.wait(5)
    again = a_warning(opened_at=house.now)
    house.open(again)
    house.wait(60)
    assert house.kept[mail].titles == ["Lower fridge: too warm"]
    house.clear(again)
    house.wait(60)
    assert house.kept[mail].titles == ["Lower fridge: too warm", "Lower fridge: all right again"]


def test_a_problem_that_comes_and_goes_is_told_less_and_less_often(house: House) -> None:
    mail = house.add_channel()
    for _ in range(24):
        warm = a_warning(opened_at=house.now)
        house.open(warm)
        house.wait(30)
        house.clear(warm)
        house.wait(30)
    opened = [message for message in house.kept[mail].messages if message.kind == "opened"]
    assert len(opened) <= 5
    assert len(house.kept[mail].messages) <= 10
    assert "It comes and goes" in opened[-1].body


def test_what_comes_back_while_its_word_waits_and_goes_again_is_dropped(house: House) -> None:
    mail = house.add_channel()
    first = a_warning()
    house.open(first)
    house.wait(15)
    house.clear(first)
    house.wait(15)
    second = a_warning(opened_at=house.now)
    house.open(second)
    house.wait(20)
    house.clear(second)
    house.wait(120)
    assert [message.kind for message in house.kept[mail].messages] == ["opened", "cleared"]


def test_a_machine_gets_each_beginning_and_end_at_once(house: House) -> None:
    devices = house.add_channel("mqtt")
    warm, damp = a_warning(), a_warning("too_damp")
    house.open(warm, damp)
    house.deliver()
    house.clear(warm)
    house.deliver()
    assert [(m.kind, m.problems[0]["rule"]) for m in house.kept[devices].messages] == [
        ("opened", "too_warm"), ("opened", "too_damp"), ("cleared", "too_warm"),
    ]  # fmt: skip


def test_only_the_first_on_duty_is_told(house: House) -> None:
    one, two = house.add_person("one"), house.add_person("two")
    first, second, everyone = (
        house.add_channel(person_id=one), house.add_channel(person_id=two), house.add_channel(),
    )  # fmt: skip
    house.set(DUTY_KEY, [two, one])
    house.open(a_warning())
    house.wait()
    assert [len(house.kept[channel].messages) for channel in (first, second, everyone)] == [0, 1, 1]


def test_a_person_on_duty_without_a_channel_does_not_swallow_warnings(house: House) -> None:
    one, two = house.add_person("one"), house.add_person("two")
    first = house.add_channel(person_id=one)
    house.set(DUTY_KEY, [two, one])
    house.open(a_warning())
    house.wait()
    assert len(house.kept[first].messages) == 1


@pytest.mark.parametrize("minutes", [0, 30])
def test_the_time_of_gathering_can_be_chosen(house: House, minutes: int) -> None:
    mail = house.add_channel()
    house.set("notify.gather_min", minutes)
    house.open(a_warning())
    house.wait(minutes - 1, step_min=1) if minutes else None
    assert house.kept[mail].messages == []
    house.clock.advance(timedelta(minutes=1 if minutes else 0))
    house.deliver()
    assert len(house.kept[mail].messages) == 1


def test_an_enqueue_that_is_rolled_back_leaves_nothing(house: House) -> None:
    house.add_channel()
    new = a_warning()

    def fail_after_enqueue() -> None:
        with house.records.begin() as connection:
            connection.execute(warning.insert().values({n: getattr(new, n) for n in new.__dataclass_fields__}))
            enqueue(connection, [Outcome(opened=(new,))], house.now)
            raise RuntimeError

    with pytest.raises(RuntimeError):
        fail_after_enqueue()
    assert house.rows() == []
