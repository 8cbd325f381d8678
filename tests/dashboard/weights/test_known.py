"""What is gathered of a wheel: wet weighings, ready day, size, and where its air comes from."""

from collections.abc import Callable, Iterator
from datetime import date, timedelta

import pytest
from sqlalchemy import Engine

from collector.readings.reader import Readings
from collector.settings import Settings
from dashboard.household_kept import load
from dashboard.weights.answer import answered
from dashboard.weights.around import Around, look_around
from dashboard.weights.cave_setting import cave_told
from dashboard.weights.keeping import keep_all
from dashboard.weights.known import Known, day_of, known
from dashboard.weights.said import probe_words
from dashboard.wheels.bodies.doings import Care, Moved, Weighing
from dashboard.wheels.book import styles, wheel_book
from tests.dashboard.book_kept import a_wheel, enter
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.dairy import a_place
from tests.dashboard.weights.aged import Aged


@pytest.fixture
def around(settings: Settings, engine: Engine, wheels_aged: Aged) -> Iterator[Callable[[], Around]]:
    readings = Readings(settings.readings_path)

    def look() -> Around:
        with engine.connect() as db:
            return look_around(db, readings.db, readings.channels(), NOW_AT)

    yield look
    readings.close()


def gathered(engine: Engine, seen: Around, wheel_id: str, on: date | None = None) -> Known:
    with engine.connect() as db:
        book = wheel_book(db, wheel_id)
        assert book is not None
        own = {style.id: style for style in styles(db)}
        found = known(db, seen, book, own.get(book.wheel.style_id or ""), load(db), on)
    assert found is not None
    return found


def test_a_weighing_soon_after_washing_is_taken_as_wet(
    engine: Engine, around: Callable[[], Around], wheels_aged: Aged
) -> None:
    with engine.begin() as db:
        enter(db, Care(care="washed"), 5.1, wheel_id=wheels_aged.even)
        enter(db, Weighing(scale_g=2_398), 5, wheel_id=wheels_aged.even)
        enter(db, Weighing(scale_g=2_385), 4, wheel_id=wheels_aged.even)
    assert list(gathered(engine, around(), wheels_aged.even).fit.weighings.wet[-2:]) == [True, False]


def test_the_ready_day_is_the_middle_of_its_window_or_the_one_asked_for(
    engine: Engine, around: Callable[[], Around], wheels_aged: Aged
) -> None:
    found = gathered(engine, around(), wheels_aged.even)
    with engine.connect() as db:
        household = load(db)
    made_on = (NOW_AT - timedelta(days=60)).date()
    assert day_of(found.due_ms, household) == made_on + timedelta(days=120)  # a tomme is ripe from 60 to 180 days
    on = (NOW_AT + timedelta(days=20)).date()
    assert day_of(gathered(engine, around(), wheels_aged.even, on).due_ms, household) == on


def test_without_a_style_sixty_days_are_looked_ahead(
    engine: Engine, around: Callable[[], Around], wheels_aged: Aged
) -> None:
    with engine.begin() as db:
        plain = a_wheel(db, "26-05P", 40, wheels_aged.cave, (2500.0, 2460.0))
    found = gathered(engine, around(), plain)
    assert not found.due_is_ready
    assert found.limits is None


def test_a_shelf_without_a_probe_is_told_by_its_cave_with_less_trust(
    engine: Engine, around: Callable[[], Around], settings: Settings, wheels_aged: Aged
) -> None:
    with engine.begin() as db:
        shelf = a_place(db, "Top shelf", "shelf", parent_id=wheels_aged.cave)
        enter(db, Moved(), 55, wheel_id=wheels_aged.even, place_id=shelf)
    seen = around()
    found = gathered(engine, seen, wheels_aged.even)
    assert seen.is_measured(shelf)
    assert not seen.has_own_probe(shelf)
    assert found.past.guessed_share > 0.5
    keep_all(settings, NOW_AT)
    with engine.connect() as db:
        household = load(db)
        assert "no probe of its own" in probe_words(answered(db, seen, found, household), seen, household)
        codes = [code for _, code, _ in cave_told(db, seen, wheels_aged.cave, household).rows]
    assert "26-01A" in codes  # the cave's air is its shelves' air
