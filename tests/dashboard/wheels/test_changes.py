"""The order in which wheels were read anew: what a reader has to look at again, and when it can trust nothing."""

import pytest
from sqlalchemy import Engine, delete, insert

from collector.records.engine import reading
from dashboard.wheels import changes
from dashboard.wheels.bodies.doings import Care
from dashboard.wheels.changes import Revision, revision, wheels_since
from dashboard.wheels.refresh import rebuild
from dashboard.wheels.tables import book_change
from tests.dashboard.book_kept import a_wheel, enter


@pytest.fixture
def two(engine: Engine) -> tuple[str, str]:
    with engine.begin() as db:
        return a_wheel(db, "24-01"), a_wheel(db, "24-02")


def now(engine: Engine) -> Revision:
    with reading(engine) as db:
        return revision(db)


def since(engine: Engine, known: Revision) -> set[str] | None:
    with reading(engine) as db:
        return wheels_since(db, known)


def test_an_entry_names_the_wheel_it_is_about_and_no_other(engine: Engine, two: tuple[str, str]) -> None:
    before = now(engine)
    assert since(engine, before) == set()
    with engine.begin() as db:
        enter(db, Care(care="turned"), wheel_id=two[1])
    assert since(engine, before) == {two[1]}
    assert now(engine) != before


def test_what_was_not_committed_is_no_change(engine: Engine, two: tuple[str, str]) -> None:
    before = now(engine)
    with engine.connect() as db, db.begin() as transaction:
        enter(db, Care(care="turned"), wheel_id=two[0])
        assert revision(db) != before
        transaction.rollback()
    assert now(engine) == before


def test_a_book_that_was_brought_back_and_grew_on_is_read_whole(engine: Engine, two: tuple[str, str]) -> None:
    """The same number under another mark: what the copy did not hold was entered differently afterwards."""
    known = now(engine)
    with engine.begin() as db:
        db.execute(delete(book_change).where(book_change.c.seq == known.seq))
        db.execute(insert(book_change).values(seq=known.seq, mark="another", wheel_id=two[0]))
    assert now(engine) == Revision(known.seq, "another")
    assert since(engine, known) is None


def test_whoever_was_away_for_too_long_reads_everything(
    engine: Engine, two: tuple[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(changes, "REMEMBERED", 3)
    known = now(engine)
    for day in range(4):
        with engine.begin() as db:
            enter(db, Care(care="turned"), days_ago=day, wheel_id=two[0])
    assert since(engine, known) is None


def test_after_all_was_made_anew_nothing_known_holds(engine: Engine, two: tuple[str, str]) -> None:
    known = now(engine)
    with engine.begin() as db:
        rebuild(db)
    assert since(engine, known) is None
    assert since(engine, now(engine)) == set()
    assert now(engine).seq > known.seq
