"""A one-time link is good once and for a day."""

from datetime import timedelta

from sqlalchemy import Engine, select

from collector.clock import ManualClock
from collector.records.tables import person, sign_in_link
from dashboard.people.links import has_owner, issue_link, use, whose


def _token(path: str) -> str:
    return path.removeprefix("/first/")


def test_the_first_link_makes_the_owner(engine: Engine, clock: ManualClock) -> None:
    token = _token(issue_link(engine, clock))
    with engine.begin() as db:
        assert not has_owner(db)
        found = whose(db, token, clock.now())
        assert found is not None
        assert (found.name, found.role) == ("Owner", "owner")
        assert token not in repr(db.execute(select(sign_in_link)).all())


def test_looking_does_not_use_it_up_but_using_does(engine: Engine, clock: ManualClock) -> None:
    token = _token(issue_link(engine, clock))
    with engine.begin() as db:
        assert whose(db, token, clock.now()) == whose(db, token, clock.now())
        assert use(db, token, "Keeper", "a hash", clock.now()) is not None
        assert has_owner(db)
        assert whose(db, token, clock.now()) is None
        assert use(db, token, "Thief", "another", clock.now()) is None


def test_it_ends_after_a_day(engine: Engine, clock: ManualClock) -> None:
    token = _token(issue_link(engine, clock))
    clock.advance(timedelta(hours=23, minutes=59))
    with engine.begin() as db:
        assert whose(db, token, clock.now()) is not None
        assert whose(db, token, clock.now() + timedelta(minutes=1)) is None


def test_a_new_link_ends_the_one_before(engine: Engine, clock: ManualClock) -> None:
    first, second = (_token(issue_link(engine, clock)) for _ in range(2))
    with engine.begin() as db:
        assert whose(db, first, clock.now()) is None
        assert whose(db, second, clock.now()) is not None
        assert len(db.execute(select(person)).all()) == 1
