"""What is kept from page to page: read once, anew for the wheels that changed, whoever wrote."""

from collections.abc import Collection

import pytest
from sqlalchemy import Connection, Engine

from collector.records.engine import open_records, reading
from dashboard.wheels.bodies.doings import Care
from dashboard.wheels.book import living, wheels
from dashboard.wheels.kept_by_facts import KeptByFacts
from dashboard.wheels.kept_by_wheel import KeptByWheel
from dashboard.wheels.refresh import rebuild
from dashboard.wheels.tables import wheel
from tests.dashboard.book_kept import a_wheel, enter


class Asked:
    """Reads codes, and remembers for which wheels it was asked."""

    def __init__(self) -> None:
        self.asked: list[set[str] | None] = []

    def __call__(self, db: Connection, ids: Collection[str] | None) -> dict[str, str]:
        self.asked.append(None if ids is None else set(ids))
        return {one.id: one.code for one in wheels(db) if ids is None or one.id in ids}


@pytest.fixture
def two(engine: Engine) -> tuple[str, str]:
    with engine.begin() as db:
        return a_wheel(db, "24-01"), a_wheel(db, "24-02")


def turn(engine: Engine, wheel_id: str) -> None:
    with engine.begin() as db:
        enter(db, Care(care="turned"), wheel_id=wheel_id)


def test_only_the_wheel_that_changed_is_read_again(engine: Engine, two: tuple[str, str]) -> None:
    read = Asked()
    kept = KeptByWheel(read)
    for change in (None, None, two[1], None):
        if change:
            turn(engine, change)
        with reading(engine) as db:
            assert kept.get(db) == {two[0]: "24-01", two[1]: "24-02"}
    assert read.asked == [None, {two[1]}]


def test_what_another_process_wrote_is_seen_at_once(engine: Engine, two: tuple[str, str]) -> None:
    with reading(engine) as db:
        before = {one.id: one.last_at.get("turned") for one in living(db)}
    other = open_records(engine.url.render_as_string(hide_password=False))
    turn(other, two[0])
    other.dispose()
    with reading(engine) as db:
        after = {one.id: one.last_at.get("turned") for one in living(db)}
    assert after[two[0]] != before[two[0]]
    assert after[two[1]] == before[two[1]]


def test_the_living_are_those_of_the_book_in_its_order(engine: Engine, two: tuple[str, str]) -> None:
    with engine.begin() as db:
        a_wheel(db, "23-09")
    with reading(engine) as db:
        assert living(db) == wheels(db, wheel.c.state == "alive")
    with engine.begin() as db:
        rebuild(db)
    with reading(engine) as db:
        assert living(db) == wheels(db, wheel.c.state == "alive")


def test_other_facts_make_another_value_and_the_same_do_not() -> None:
    kept, made = KeptByFacts[str](), []
    for facts in (("a", 1), ("a", 1), ("a", 2), ("a", 1)):
        made.append(kept.get("w", facts, lambda: object().__repr__() + str(facts)))  # noqa: B023
    assert made[0] is made[1]
    assert len({id(one) for one in made}) == 3
