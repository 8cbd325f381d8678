"""A child is asked once for what has not changed, and one that fails says so instead of breaking the page."""

from datetime import timedelta
from pathlib import Path

from sqlalchemy import Engine

from collector.settings import Settings
from dashboard.weights.asking import FAILED, ask, remembered, tag
from dashboard.weights.told import Told, Wish
from dashboard.wheels.bodies.doings import Weighing
from tests.dashboard.book_kept import a_wheel, enter
from tests.dashboard.conftest import NOW_AT


def test_what_did_not_change_is_worked_out_once(engine: Engine) -> None:
    asked: list[str] = []

    def work() -> Told:
        asked.append("once")
        return Told("good", "On course.")

    with engine.begin() as db:
        wheel_id = a_wheel(db, weights_g=(2500.0,))
        first = tag(db, wheel_id, Wish(), NOW_AT)
        assert tag(db, wheel_id, Wish(), NOW_AT) == first
        assert tag(db, wheel_id, Wish("wax"), NOW_AT) != first
        assert tag(db, wheel_id, Wish(), NOW_AT + timedelta(hours=1)) != first
        enter(db, Weighing(scale_g=2450), 1, wheel_id=wheel_id)
        later = tag(db, wheel_id, Wish(), NOW_AT)
    assert later != first
    assert [remembered(engine, key, work) for key in (first, first, later, first)] == [Told("good", "On course.")] * 4
    assert len(asked) == 2


def test_what_failed_is_tried_again(engine: Engine) -> None:
    answers = iter([FAILED, Told("good", "Now it worked.")])
    assert remembered(engine, "key", lambda: next(answers)) == FAILED
    assert remembered(engine, "key", lambda: next(answers)) == Told("good", "Now it worked.")


def test_a_child_that_cannot_read_says_so(tmp_path: Path) -> None:
    assert ask(Settings(data=tmp_path), "w", Wish(), NOW_AT) == FAILED
