"""Sent at least once, with growing waits, never with a transaction open, given up after a day."""

import threading
from datetime import timedelta
from itertools import pairwise

import pytest
from sqlalchemy import Connection, event, select
from sqlalchemy.exc import OperationalError

from collector.errors import WarningNotSent
from collector.notify.channels import channels
from collector.notify.choosing import again_s
from collector.notify.delivery import waiting
from collector.notify.message import Message
from collector.notify.trying import send_test, undelivered
from collector.records.tables import notify_channel, outbox
from tests.collector.notify.builders import House, Kept, a_warning


def refusing(kept: Kept, **how: object) -> None:
    kept.refusal = WarningNotSent("mail", "it is broken", **how)  # type: ignore[arg-type]


def test_a_message_that_did_not_go_is_tried_again_with_growing_waits(house: House) -> None:
    mail = house.add_channel()
    refusing(house.kept[mail])
    house.open(a_warning())
    house.clock.advance(timedelta(minutes=10))
    at = []
    for _ in range(3 * 3_600 // 15):
        before = len(house.kept[mail].tries)
        house.deliver()
        if len(house.kept[mail].tries) > before:
            at.append(house.now)
        house.clock.advance(timedelta(seconds=15))
    gaps = [(b - a).total_seconds() for a, b in pairwise(at)]
    assert gaps[:6] == [30, 60, 120, 300, 600, 1_800]
    assert gaps == sorted(gaps)


def test_each_try_carries_the_same_id(house: House) -> None:
    mail = house.add_channel()
    refusing(house.kept[mail])
    house.open(a_warning())
    house.wait(30)
    house.kept[mail].refusal = None
    house.wait(30)
    assert len(house.kept[mail].messages) == 1
    assert len({message.id for message in house.kept[mail].tries}) == 1


def test_a_channel_that_asks_for_a_pause_gets_it(house: House) -> None:
    mail = house.add_channel()
    refusing(house.kept[mail], wait_s=3_600.0)
    house.open(a_warning())
    house.wait(60)
    assert len(house.kept[mail].tries) == 1


def test_what_cannot_be_delivered_for_a_day_is_given_up_and_shown(house: House) -> None:
    mail = house.add_channel()
    refusing(house.kept[mail])
    house.open(a_warning())
    house.wait(24 * 60, step_min=30)
    house.wait(3 * 60, step_min=30)
    tries = len(house.kept[mail].tries)
    house.wait(24 * 60, step_min=60)
    assert len(house.kept[mail].tries) == tries
    with house.records.connect() as connection:
        shown = undelivered(connection, house.now)
        assert [(one.title, one.reason) for one in shown] == [("Lower fridge: too warm", "it is broken")]
        assert waiting(connection) == 0


def test_a_refusal_for_good_is_not_tried_again(house: House) -> None:
    mail = house.add_channel()
    refusing(house.kept[mail], retry=False)
    house.open(a_warning())
    house.wait(120)
    assert len(house.kept[mail].tries) == 1


def test_a_channel_that_is_gone_is_dropped_with_what_waits_for_it(house: House) -> None:
    phone, mail = house.add_channel("push"), house.add_channel()
    refusing(house.kept[phone], gone=True)
    house.open(a_warning(), a_warning(place_id="cellar"))
    house.wait(60)
    assert len(house.kept[phone].tries) == 1
    assert len(house.kept[mail].messages) == 2
    with house.records.connect() as connection:
        assert [row.id for row in channels(connection)] == [mail]
        gone = channels(connection, removed=True)
        row = next(one for one in gone if one.id == phone)
    assert row.removed_why == "it is broken"
    assert row.options == {}


def test_one_channel_that_fails_does_not_hold_up_the_others(house: House) -> None:
    bad, good = house.add_channel(), house.add_channel("webhook")
    refusing(house.kept[bad])
    house.open(a_warning())
    house.wait(10)
    assert len(house.kept[good].messages) == 1


def test_no_transaction_is_open_while_a_channel_sends(house: House) -> None:
    mail = house.add_channel()
    written = []

    class Writes(Kept):
        def send(self, message: Message) -> None:
            super().send(message)
            with house.records.begin() as connection:  # waits for ten seconds, then fails, if anybody holds the lock
                written.append(connection.execute(select(outbox.c.attempts)).scalar())

    house.kept[mail] = Writes()
    house.open(a_warning())
    house.wait(10)
    assert written == [1]


def test_records_that_are_busy_when_an_answer_comes_do_not_make_a_message_go_twice(house: House) -> None:
    mail = house.add_channel()
    busy: list[int] = []

    def refuse_twice(connection: Connection, *_: object) -> None:
        if house.kept[mail].messages and len(busy) < 2:
            busy.append(1)
            raise OperationalError("UPDATE", {}, Exception("database is locked"))

    event.listen(house.records, "before_cursor_execute", refuse_twice)
    house.open(a_warning())
    house.wait(120)
    assert len(busy) == 2
    assert len(house.kept[mail].messages) == 1


def test_a_clock_that_is_set_back_does_not_hold_messages_up(house: House) -> None:
    mail = house.add_channel()
    for _ in range(6):
        house.open(a_warning("store_refusing", None, severity="urgent", opened_at=house.now, facts={}))
        house.wait(30)
    sent = len(house.kept[mail].messages)
    house.open(a_warning(opened_at=house.now))
    house.clock.advance(timedelta(days=-400))
    house.wait(15)
    assert len(house.kept[mail].messages) == sent + 1
    house.open(a_warning(place_id="cellar", opened_at=house.now))
    house.wait(15)
    assert len(house.kept[mail].messages) == sent + 2


def test_channels_send_side_by_side(house: House) -> None:
    meet = threading.Barrier(2, timeout=10)

    class Meets(Kept):
        def send(self, message: Message) -> None:
            meet.wait()
            super().send(message)

    for _ in range(2):
        house.kept[house.add_channel()] = Meets()
    house.open(a_warning())
    house.wait(10)
    assert [len(kept.messages) for kept in house.kept.values()] == [1, 1]


def test_a_message_is_told_as_its_warning_stands_when_it_goes(house: House) -> None:
    mail = house.add_channel()
    warm = a_warning()
    house.open(warm)
    from collector.records.tables import warning

    with house.records.begin() as connection:
        facts = {**warm.facts, "last": 15.9}
        connection.execute(warning.update().where(warning.c.id == warm.id).values(facts=facts))
    house.wait(10)
    assert "15.9 °C over the last hour" in house.kept[mail].messages[0].body


def test_a_message_is_frozen_from_its_first_try_on(house: House) -> None:
    mail = house.add_channel()
    refusing(house.kept[mail])
    warm = a_warning()
    house.open(warm)
    house.wait(11)
    house.clear(warm)
    house.kept[mail].refusal = None
    house.wait(60)
    assert house.kept[mail].titles == ["Lower fridge: too warm", "Lower fridge: all right again"]
    assert house.kept[mail].tries[0].body == house.kept[mail].messages[0].body


def test_many_messages_due_at_once_go_as_one(house: House) -> None:
    mail = house.add_channel()
    refusing(house.kept[mail])
    house.open(a_warning())
    house.wait(15)
    house.open(a_warning(place_id="cellar"), a_warning("disk_low", None, facts={}), a_warning("stuck", None, "porch"))
    house.wait(60)
    house.kept[mail].refusal = None
    house.wait(60)
    assert house.kept[mail].titles == ["Lower fridge: too warm", "3 things to look at"]


def test_a_link_leads_to_the_page_of_the_warning(house: House) -> None:
    mail = house.add_channel()
    house.set("household.base_address", "https://cave.home.arpa:8443")
    warm = a_warning()
    house.open(warm)
    house.wait(10)
    assert house.kept[mail].messages[0].link == f"https://cave.home.arpa:8443/warnings/{warm.id}"


def test_a_test_is_sent_at_once_and_its_result_kept(house: House) -> None:
    mail = house.add_channel()
    assert send_test(house.records, mail, house.make, house.clock).worked
    assert house.kept[mail].titles == ["rindwatch: this is a test"]
    refusing(house.kept[mail])
    assert send_test(house.records, mail, house.make, house.clock).reason == "it is broken"
    with house.records.connect() as connection:
        row = connection.execute(select(notify_channel)).one()
    assert (row.worked_at, row.tried_at, row.trouble) == (house.now, house.now, "it is broken")


def test_a_test_of_a_channel_that_is_not_there_is_refused(house: House) -> None:
    with pytest.raises(ValueError, match="no channel nowhere"):
        send_test(house.records, "nowhere", house.make, house.clock)


def test_what_waits_for_a_channel_that_was_switched_off_is_dropped(house: House) -> None:
    mail = house.add_channel()
    house.open(a_warning())
    from collector.notify.channels import change_channel

    with house.records.begin() as connection:
        change_channel(connection, mail, is_on=False)
    house.wait(60)
    assert house.kept[mail].messages == []
    with house.records.connect() as connection:
        assert waiting(connection) == 0


@pytest.mark.parametrize(("attempts", "seconds"), [(1, 30), (2, 60), (7, 3_600), (50, 3_600)])
def test_waits_grow_to_an_hour(attempts: int, seconds: int) -> None:
    assert again_s(attempts) == seconds
