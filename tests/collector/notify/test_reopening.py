"""A warning that was told as over and was not: said once, as what it is, and not oftener than anything else."""

from datetime import timedelta

import pytest

from collector.notify.rounds import go_round
from tests.collector.notify.builders import NOON, House, a_warning

TOO_WARM, ALL_RIGHT, NOT_OVER = (
    "Lower fridge: too warm", "Lower fridge: all right again", "Lower fridge: not over, too warm",
)  # fmt: skip


def test_an_all_clear_that_did_not_hold_is_corrected_once(house: House) -> None:
    mail = house.add_channel()
    warm = a_warning()
    house.open(warm)
    house.wait(60)
    house.clear(warm)
    house.wait(60)
    for _ in range(2):
        house.reopen(warm)
        house.wait(90)
    assert house.kept[mail].titles == [TOO_WARM, ALL_RIGHT, NOT_OVER]
    again = house.kept[mail].messages[-1]
    assert again.kind == "reopened"
    assert again.body.startswith("It was not over: readings that came later show it.")
    assert "Since 10:00" in again.body
    assert again.thread == house.kept[mail].messages[0].id


def test_what_was_told_as_over_in_one_message_is_corrected_too(house: House) -> None:
    mail = house.add_channel()
    warm = a_warning()
    house.open(warm)
    house.wait(5)
    house.clear(warm)
    house.wait(60)
    house.reopen(warm)
    house.wait(90)
    assert house.kept[mail].titles == ["Lower fridge: was too warm, all right again", NOT_OVER]


def test_what_opened_again_before_its_message_went_is_told_as_open(house: House) -> None:
    mail = house.add_channel()
    warm = a_warning()
    house.open(warm)
    house.wait(3)
    house.clear(warm)
    house.reopen(warm)
    house.wait(60)
    assert house.kept[mail].titles == [TOO_WARM]


def test_the_end_after_a_reopening_is_told_again(house: House) -> None:
    mail = house.add_channel()
    warm = a_warning()
    house.open(warm)
    for change in (house.clear, house.reopen, house.clear):
        house.wait(90)
        change(warm)
    house.clear(warm)
    house.wait(90)
    assert house.kept[mail].titles == [TOO_WARM, ALL_RIGHT, NOT_OVER, ALL_RIGHT]


def test_a_reopening_that_ends_before_it_was_told_is_not_told(house: House) -> None:
    mail = house.add_channel()
    warm = a_warning()
    house.open(warm)
    house.wait(60)
    house.clear(warm)
    house.wait(60)
    house.reopen(warm)
    house.clear(warm)
    house.wait(120)
    assert house.kept[mail].titles == [TOO_WARM, ALL_RIGHT]


def test_a_spell_found_when_it_was_over_is_told_once_it_is_not(house: House) -> None:
    mail = house.add_channel()
    late = a_warning(found_late=True, cleared_at=NOON)
    house.open(late)
    house.wait(60)
    house.reopen(late)
    house.wait(60)
    assert house.kept[mail].titles == [TOO_WARM]


def test_an_urgent_one_is_corrected_without_waiting_for_others(house: House) -> None:
    mail = house.add_channel()
    full = a_warning("store_refusing", None, severity="urgent", facts={})
    house.open(full)
    house.wait(90)
    house.clear(full)
    house.wait(90)
    house.reopen(full)
    house.deliver()
    assert house.kept[mail].messages[-1].title.startswith("Urgent: rindwatch: not over")


@pytest.mark.parametrize("kind", ["apprise", "mqtt"])
def test_late_readings_that_go_to_and_fro_do_not_pour_out_messages(house: House, kind: str) -> None:
    """The promise: of one problem at most five warnings in any 24 hours, each with at most one all-clear."""
    way = house.add_channel(kind)
    warm = a_warning()
    house.open(warm)
    for _ in range(24):
        house.wait(30)
        house.clear(warm)
        house.wait(30)
        house.reopen(warm)
    kinds = [message.kind for message in house.kept[way].messages]
    lasting = [kind for kind in kinds if kind in ("opened", "reopened")]
    if kind == "mqtt":
        assert len(lasting) == 24  # other devices follow each turn; nobody is woken by them
    else:
        assert 2 <= len(lasting) <= 5
        assert kinds.count("cleared") <= len(lasting)


def test_the_next_on_duty_is_told_of_what_was_not_over_and_nobody_saw(house: House) -> None:
    first, second = house.add_person("Owner"), house.add_person("Neighbour")
    house.set("notify.duty_order", [first, second])
    own, next_one = house.add_channel(person_id=first), house.add_channel(person_id=second)
    warm = a_warning()
    house.open(warm)
    house.wait(30)
    house.clear(warm)
    house.wait(30)
    house.reopen(warm)
    for _ in range(20):
        house.wait(5)
        go_round(house.records, house.now)
    assert house.kept[own].titles == [TOO_WARM, ALL_RIGHT, NOT_OVER]
    assert house.kept[next_one].titles == [TOO_WARM]
    assert timedelta(hours=1) <= house.kept[next_one].messages[0].created_at - house.kept[own].messages[2].created_at
