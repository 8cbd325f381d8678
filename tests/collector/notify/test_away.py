"""Who is told while somebody is away, when access ends, and the line of the day."""

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy import insert, select

from collector.notify.away import AWAY_KEY, Away, end_access, keep_away, load_away
from collector.notify.channels import channels
from collector.notify.evening import due_evening, tell_evening
from collector.notify.rounds import go_round
from collector.notify.wishes import duty_order
from collector.notify.words import Words
from collector.records.columns import new_id
from collector.records.tables import person, session
from tests.collector.notify.builders import NOON, House, a_warning

TODAY = NOON.date()
WORDS = Words("Done today: 12 of 12", "All was done.")


def a_plan(on_duty: str, away: str, **others: object) -> Away:
    values: dict[str, object] = {"from_on": TODAY, "to_on": TODAY + timedelta(days=2)}
    return Away(person_id=on_duty, away_id=away, **values | others)  # type: ignore[arg-type]


def keep(house: House, plan: Away | None) -> None:
    house.set("household.time_zone", "Europe/Zurich")
    with house.records.begin() as connection:
        keep_away(connection, plan)


def order(house: House) -> tuple[str, ...]:
    with house.records.connect() as connection:
        return duty_order(connection, house.now)


def test_warnings_go_to_the_one_on_duty_and_to_who_is_away_after_an_unseen_hour(house: House) -> None:
    owner, neighbour = house.add_person("Owner"), house.add_person("Neighbour")
    own, theirs = house.add_channel(person_id=owner), house.add_channel(person_id=neighbour)
    keep(house, a_plan(neighbour, owner))
    house.open(a_warning())
    house.wait(30)
    assert (house.kept[own].titles, house.kept[theirs].titles) == ([], ["Lower fridge: too warm"])
    for _ in range(10):
        house.wait(5)
        go_round(house.records, house.now)
    house.wait(15)
    assert house.kept[own].titles == ["Lower fridge: too warm"]


def test_before_and_after_the_days_away_the_usual_order_holds(house: House) -> None:
    owner, neighbour = house.add_person("Owner"), house.add_person("Neighbour")
    house.set("notify.duty_order", [owner])
    keep(house, a_plan(neighbour, owner, from_on=TODAY + timedelta(days=1)))
    assert order(house) == (owner,)
    house.clock.set(datetime(2026, 3, 12, 22, 59, tzinfo=ZoneInfo("UTC")))
    assert order(house) == (owner,)
    house.clock.advance(timedelta(minutes=1))  # midnight in Zurich
    assert order(house) == (neighbour, owner)
    house.clock.advance(timedelta(days=2))
    assert order(house) == (owner,)


def test_access_ends_by_itself_with_sign_ins_and_ways(house: House) -> None:
    helper = house.add_person("Neighbour")
    house.add_channel(person_id=helper)
    with house.records.begin() as connection:
        connection.execute(person.update().where(person.c.id == helper).values(to_at=NOON + timedelta(days=1)))
        row = {"token_hash": "x", "id": new_id(), "person_id": helper, "device": "a phone", "created_at": NOON,
               "last_used_at": NOON, "expires_at": NOON + timedelta(days=400), "ticks": {}}  # fmt: skip
        connection.execute(insert(session).values(**row))
    go_round(house.records, house.now)
    with house.records.connect() as connection:
        assert len(channels(connection)) == 1
    house.clock.advance(timedelta(days=1))
    go_round(house.records, house.now)
    with house.records.begin() as connection:
        assert channels(connection) == []
        assert connection.execute(select(session)).all() == []
        assert end_access(connection, house.now) == 0
    assert order(house) == ()


def test_the_line_of_the_day_comes_once_at_its_hour_in_the_households_zone(house: House) -> None:
    owner, neighbour = house.add_person("Owner"), house.add_person("Neighbour")
    own, theirs = house.add_channel(person_id=owner), house.add_channel(person_id=neighbour)
    keep(house, a_plan(neighbour, owner))
    told = []
    for _ in range(24 * 5 * 4):
        with house.records.begin() as connection:
            due = due_evening(connection, house.now)
            if due is not None:
                tell_evening(connection, *due, WORDS, house.now)
                told.append(house.now.astimezone(ZoneInfo("Europe/Zurich")))
        house.wait(15, step_min=15)
    assert [f"{at:%d %H:%M}" for at in told] == ["12 20:00", "13 20:00", "14 20:00"]
    assert house.kept[own].titles == [WORDS.title] * 3
    assert {message.kind for message in house.kept[own].messages} == {"evening"}
    assert house.kept[theirs].titles == []


def test_a_line_missed_by_a_night_without_power_comes_in_the_morning_and_a_stale_one_never(house: House) -> None:
    owner = house.add_person("Owner")
    house.add_channel(person_id=owner)
    keep(house, a_plan(owner, owner))
    for hours, expected in ((10, TODAY), (18, TODAY), (20, None), (60, date(2026, 3, 14))):
        house.clock.set(NOON + timedelta(hours=hours))
        with house.records.connect() as connection:
            due = due_evening(connection, house.now)
        assert (due and due[1]) == expected, hours


def test_the_line_of_the_day_is_not_lost_among_warnings_that_go_as_one(house: House) -> None:
    owner = house.add_person("Owner")
    own = house.add_channel(person_id=owner)
    keep(house, a_plan(owner, owner))
    with house.records.begin() as connection:
        tell_evening(connection, a_plan(owner, owner), TODAY, WORDS, house.now)
    for place in ("lower", "cellar", "upper"):
        house.open(a_warning(place_id=place, severity="urgent"))
    house.wait(30)
    assert sorted(message.kind for message in house.kept[own].messages) == ["evening", "several"]


def test_somebody_without_a_way_is_told_on_the_ways_of_the_house(house: House) -> None:
    owner = house.add_person("Owner")
    mail = house.add_channel()
    with house.records.begin() as connection:
        assert tell_evening(connection, a_plan(owner, owner), TODAY, WORDS, house.now) == 1
    house.wait()
    assert house.kept[mail].messages[0].body == "All was done."


@pytest.mark.parametrize("value", [None, "x", {"from_on": "x"}, {"from_on": "2026-03-12"}])
def test_a_plan_that_cannot_be_read_is_none(house: House, value: object) -> None:
    house.set(AWAY_KEY, value)
    with house.records.connect() as connection:
        assert load_away(connection) is None
