"""What touched each wheel within a time: the hands, washes and boards, before it was sick; anew once an entry comes."""

from datetime import timedelta

import pytest
from sqlalchemy import Connection, Engine

from collector.records.columns import new_id, to_ms
from collector.records.engine import open_records
from dashboard.wheels.bodies.doings import Care, Ended, Weighing, Withdrawn
from dashboard.wheels.vat_time import Span, whole
from dashboard.wheels.vat_touched import BEFORE, touched
from tests.dashboard.book_kept import a_wheel, enter
from tests.dashboard.conftest import NOW_AT

BRINE, OTHER_BRINE = new_id(), new_id()
BOARD, OTHER_BOARD = new_id(), new_id()
AT_TEN_D = to_ms(NOW_AT - timedelta(days=10))


def last(days: float) -> Span:
    return whole("black_spots", NOW_AT - timedelta(days=days), NOW_AT)


def of(db: Connection, wheel_id: str, days: float = 30, sick_at: dict[str, int] | None = None) -> dict[str, set[str]]:
    found = touched(db, last(days), sick_at or {}).get(wheel_id, {})
    return {factor: set(values) for factor, values in found.items()}


def weighed(db: Connection, wheel_id: str, days_ago: float, board_id: str) -> str:
    return enter(db, Weighing(scale_g=2_000, tare_g=300, board_id=board_id), days_ago, wheel_id=wheel_id)


@pytest.fixture
def wheel(any_book: Engine) -> str:
    with any_book.begin() as db:
        return a_wheel(db, "24-01", 200)


def test_hands_and_washes_count_within_the_time_and_its_ends(any_book: Engine, wheel: str) -> None:
    with any_book.begin() as db:
        enter(db, Care(care="washed", with_what="old whey"), 31, wheel_id=wheel)
        enter(db, Care(care="washed"), 30, wheel_id=wheel, gear_id=BRINE)
        enter(db, Care(care="washed", with_what="salt water"), 0, wheel_id=wheel)
        assert of(db, wheel) == {"who": {"The keeper"}, "wash": {BRINE, "salt water"}}
        assert of(db, wheel, 200)["wash"] == {BRINE, "salt water", "old whey"}


def test_a_cure_is_no_cause(any_book: Engine, wheel: str) -> None:
    with any_book.begin() as db:
        enter(db, Care(care="washed"), 20, wheel_id=wheel, gear_id=BRINE)
        enter(db, Care(care="washed"), 5, wheel_id=wheel, gear_id=OTHER_BRINE)
        weighed(db, wheel, 20, BOARD)
        weighed(db, wheel, 5, OTHER_BOARD)
        assert of(db, wheel)["wash"] == {BRINE, OTHER_BRINE}
        assert of(db, wheel)["board"] == {OTHER_BOARD}
        sick = of(db, wheel, sick_at={wheel: AT_TEN_D})
        assert (sick["wash"], sick["board"]) == ({BRINE}, {BOARD})


def test_the_board_is_the_last_that_was_named_not_too_long_ago(any_book: Engine, wheel: str) -> None:
    with any_book.begin() as db:
        weighed(db, wheel, 1 + 30 + BEFORE.days, OTHER_BOARD)
        assert "board" not in of(db, wheel)
        weighed(db, wheel, 30 + BEFORE.days, BOARD)
        assert of(db, wheel)["board"] == {BOARD}


def test_an_entry_shows_at_once_and_so_does_taking_it_back_whoever_writes(any_book: Engine, wheel: str) -> None:
    with any_book.begin() as db:
        assert of(db, wheel) == {}
    other = open_records(any_book.url.render_as_string(hide_password=False))
    with other.begin() as db:
        washed = enter(db, Care(care="washed"), 5, wheel_id=wheel, gear_id=BRINE)
    with any_book.begin() as db:
        assert of(db, wheel)["wash"] == {BRINE}
    with other.begin() as db:
        enter(db, Withdrawn(), 4, wheel_id=wheel, replaces=washed)
    other.dispose()
    with any_book.begin() as db:
        assert of(db, wheel) == {}


def test_a_wheel_that_is_gone_is_asked_about_while_it_was_there(any_book: Engine, wheel: str) -> None:
    with any_book.begin() as db:
        enter(db, Care(care="washed"), 15, wheel_id=wheel, gear_id=BRINE)
        assert of(db, wheel)["wash"] == {BRINE}
        enter(db, Ended(how="eaten"), 10, wheel_id=wheel)
        assert of(db, wheel)["wash"] == {BRINE}
        assert of(db, wheel, 5) == {}
