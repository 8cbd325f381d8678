"""Forecasts are kept once a week, compared with what came, and tell the round who differs from its kind."""

from dataclasses import asdict
from datetime import datetime, timedelta

from sqlalchemy import Engine, func, select

from collector.clock import ManualClock
from collector.records.columns import to_ms
from collector.settings import Settings
from dashboard.weights.keeping import WeeklyKeeping, keep_all, waiting
from dashboard.weights.kept import Forecast, compare, is_due, keep, newest_facts, paces, past, score_of
from dashboard.wheels.bodies.doings import Weighing
from dashboard.wheels.book import wheel_book
from dashboard.wheels.tables import forecast
from dashboard.wheels.weight.pace import FASTER, NEITHER, Pace
from tests.dashboard.book_kept import enter
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.weights.aged import Aged

MONTH = timedelta(days=30)


def a_forecast(wheel_id: str, low: float = 2300.0, high: float = 2400.0, **facts: object) -> Forecast:
    kept = {"start_g": 2500.0, "style_id": "s", "pace": None, "wants": None, **facts}
    return Forecast(wheel_id, to_ms(NOW_AT + MONTH), low, (low + high) / 2, high, kept)


def test_one_a_week_is_kept(engine: Engine) -> None:
    with engine.begin() as db:
        assert keep(db, a_forecast("w"), NOW_AT)
        assert not keep(db, a_forecast("w"), NOW_AT + timedelta(days=3))
        assert keep(db, a_forecast("w"), NOW_AT + timedelta(days=7))
        assert not is_due(db, "w", NOW_AT + timedelta(days=8))
        assert is_due(db, "other", NOW_AT)


def test_what_came_is_written_beside_it(engine: Engine, wheels_aged: Aged) -> None:
    later_at = NOW_AT + MONTH + timedelta(days=5)
    with engine.begin() as db:
        keep(db, a_forecast(wheels_aged.even), NOW_AT)
        book = wheel_book(db, wheels_aged.even)
        assert book is not None
        assert compare(db, book, later_at) == 0
        assert score_of(past(db, later_at)).words == "1 came due, 0 were inside, 1 not weighed then."
        enter(db, Weighing(scale_g=2_360), 0, now_at=NOW_AT + timedelta(days=31), wheel_id=wheels_aged.even)
        book = wheel_book(db, wheels_aged.even)
        assert book is not None
        assert compare(db, book, later_at) == 1
        assert compare(db, book, later_at) == 0
        assert score_of(past(db, later_at)).words == "1 came due, 1 was inside."


def test_another_start_is_not_compared(engine: Engine, wheels_aged: Aged) -> None:
    with engine.begin() as db:
        keep(db, a_forecast(wheels_aged.even, start_g=2_600.0), NOW_AT)
        enter(db, Weighing(scale_g=2_360), 0, now_at=NOW_AT + timedelta(days=31), wheel_id=wheels_aged.even)
        book = wheel_book(db, wheels_aged.even)
        assert book is not None
        assert compare(db, book, NOW_AT + MONTH * 2) == 0


def test_what_is_not_due_yet_is_not_in_the_score(engine: Engine) -> None:
    with engine.begin() as db:
        keep(db, a_forecast("w"), NOW_AT)
        assert past(db, NOW_AT + timedelta(days=29)) == []
        assert score_of([]).words == "No forecast has come due yet."


def test_all_living_wheels_are_foretold_once(settings: Settings, engine: Engine, wheels_aged: Aged) -> None:
    assert keep_all(settings, NOW_AT) == (4, 0)
    assert keep_all(settings, NOW_AT + timedelta(hours=1)) == (0, 0)
    with engine.connect() as db:
        assert waiting(db, NOW_AT) == []
        assert db.execute(select(func.count()).select_from(forecast)).scalar() == 4
        facts = newest_facts(db, NOW_AT)
    assert set(facts[wheels_aged.even]["wants"]) == {"loss_pct", "low_pct", "high_pct", "takes_up_pct"}


def test_the_fast_one_is_marked_with_its_reason(settings: Settings, engine: Engine, wheels_aged: Aged) -> None:
    keep_all(settings, NOW_AT)
    with engine.connect() as db:
        found = paces(db, NOW_AT)
    assert found[wheels_aged.fast].word == FASTER
    assert found[wheels_aged.fast].reason == NEITHER  # it stands in the same air, as bare as they
    assert wheels_aged.even not in found


def test_a_stale_forecast_marks_nobody(engine: Engine) -> None:
    slow, quick = asdict(Pace(0.1, 150.0, 1.0, 60.0)), asdict(Pace(0.3, 290.0, 1.0, 60.0))
    with engine.begin() as db:
        for wheel_id, pace in (("a", slow), ("b", slow), ("c", slow), ("d", quick)):
            keep(db, a_forecast(wheel_id, pace=pace), NOW_AT)
        assert set(paces(db, NOW_AT)) == {"d"}
        assert paces(db, NOW_AT + timedelta(days=22)) == {}


def test_the_weekly_look_starts_a_child_only_when_a_wheel_waits(
    settings: Settings, engine: Engine, clock: ManualClock, wheels_aged: Aged
) -> None:
    begun: list[int] = []

    def works(own: Settings) -> bool:
        begun.append(keep_all(own, clock.now())[0])
        return True

    looks = WeeklyKeeping(engine, settings, clock, works)
    assert looks.step()
    assert not looks.step()
    clock.advance(timedelta(days=8))
    assert looks.step()
    assert begun == [4, 4]


def test_a_wheel_that_cannot_be_foretold_is_not_tried_for_ever(
    settings: Settings, engine: Engine, clock: ManualClock, wheels_aged: Aged
) -> None:
    begun: list[bool] = []

    def fails(_own: Settings) -> bool:
        begun.append(True)
        return False

    looks = WeeklyKeeping(engine, settings, clock, fails)
    assert not looks.step()
    assert not looks.step()
    assert len(begun) == 1


def test_past_days_are_tried_once_a_day(settings: Settings, engine: Engine, clock: ManualClock) -> None:
    settings.readings_path.touch()
    begun: list[datetime] = []

    def works(_own: Settings) -> bool:
        begun.append(clock.now())
        return True

    looks = WeeklyKeeping(engine, settings, clock, works)  # in an empty book no wheel waits
    assert [looks.step(), looks.step()] == [True, False]
    clock.advance(timedelta(hours=23))
    assert not looks.step()
    clock.advance(timedelta(hours=1))
    assert looks.step()
    assert begun[1] - begun[0] == timedelta(days=1)
