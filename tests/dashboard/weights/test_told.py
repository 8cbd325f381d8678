"""What is said of a wheel's weight: the answer, its reasons, and what it is not sure of."""

from collections.abc import Callable
from datetime import date, timedelta

import pytest
from sqlalchemy import Engine

from collector.readings.reader import Readings
from collector.settings import Settings
from dashboard.household_kept import load
from dashboard.weights.around import look_around
from dashboard.weights.told import NO_LONGER_HERE, NOT_WEIGHED, Told, Wish, told
from dashboard.wheels.bodies.doings import Cut, CutPart, Ended, TookOut, Weighing
from dashboard.wheels.bodies.make import MakeSheet
from dashboard.wheels.book import styles
from tests.dashboard.book_kept import a_wheel, enter
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.weights.aged import Aged

Asking = Callable[..., Told]


@pytest.fixture
def asking(settings: Settings, engine: Engine, wheels_aged: Aged) -> Asking:
    def ask(wheel_id: str, wish: Wish = Wish()) -> Told:  # noqa: B008
        readings = Readings(settings.readings_path)
        with engine.connect() as db:
            around = look_around(db, readings.db, readings.channels(), NOW_AT)
            found = told(db, around, wheel_id, {style.id: style for style in styles(db)}, load(db), wish)
        readings.close()
        assert found is not None
        return found

    return ask


def test_a_wheel_on_its_way_is_on_course(asking: Asking, wheels_aged: Aged) -> None:
    found = asking(wheels_aged.even)
    assert found.state == "good"
    assert found.headline.startswith("On course. By ")
    assert "8 to 15 % is usual for a wheel of 2.50 kg" in found.headline
    assert found.counted_from.startswith("Loss counts from: into the cave")


def test_one_that_dries_too_fast_is_to_be_bagged_on_a_day_or_moved(asking: Asking, wheels_aged: Aged) -> None:
    found = asking(wheels_aged.fast)
    assert found.state == "watch"
    assert found.headline.startswith("Bag it (barrier bag)")
    assert "Or move it to Box" in found.headline or "now" in found.headline
    by_name = {name: float(loss.removesuffix(" %")) for name, loss, _ in found.places}
    assert by_name["Box"] < by_name["Lower fridge"]


def test_where_it_stands_comes_first_and_damper_places_dry_less(asking: Asking, wheels_aged: Aged) -> None:
    places = asking(wheels_aged.even).places
    assert [name for name, _, _ in places] == ["Lower fridge", "Box"]


def test_coverings_are_compared_the_own_one_first(asking: Asking, wheels_aged: Aged) -> None:
    found = asking(wheels_aged.even)
    assert found.coverings[0][0] == "bare"
    assert asking(wheels_aged.bagged).coverings[0][0] == "barrier bag"


def test_a_wish_changes_aim_covering_and_day(asking: Asking, wheels_aged: Aged) -> None:
    on = (NOW_AT + timedelta(days=90)).date()
    found = asking(wheels_aged.even, Wish("waxed_paper", 9.0, on))
    assert found.ready_on == on.isoformat()
    assert found.aim_pct == 9.0
    assert found.headline.startswith("Wrap it in waxed paper")


def test_air_that_nobody_checked_and_assumed_says_so(asking: Asking, wheels_aged: Aged) -> None:
    assert any("not checked yet" in sentence for sentence in asking(wheels_aged.even).sentences)


def test_an_odd_weighing_is_named(engine: Engine, asking: Asking, wheels_aged: Aged) -> None:
    with engine.begin() as db:
        enter(db, Weighing(scale_g=2_790), 5, wheel_id=wheels_aged.even)
        enter(db, Weighing(scale_g=2_386), 2, wheel_id=wheels_aged.even)
    (odd,) = asking(wheels_aged.even).odd
    assert "2.79 kg" in odd
    assert "likely weighed on its board" in odd


def test_a_slice_that_was_written_down_is_no_loss(engine: Engine, asking: Asking, wheels_aged: Aged) -> None:
    before = asking(wheels_aged.even)
    with engine.begin() as db:
        enter(db, TookOut(what="slice", taken_g=120), 3, wheel_id=wheels_aged.even)
        enter(db, Weighing(scale_g=2_386 - 120 - 4), 1, wheel_id=wheels_aged.even)
    after = asking(wheels_aged.even)
    assert after.odd == []
    last = [rows[0][1].removesuffix(" %") for rows in (before.rows, after.rows)]
    assert float(last[1]) == pytest.approx(float(last[0]), abs=0.5)


def test_a_part_begins_at_its_own_hundred_percent(engine: Engine, asking: Asking, wheels_aged: Aged) -> None:
    part = CutPart(wheel_id="0199aaaa-0000-7000-8000-000000000001", weight_g=1_190, face="wax")
    with engine.begin() as db:
        enter(db, Cut(parts=(part,)), 2, wheel_id=wheels_aged.even)
    found = asking(part.wheel_id)
    assert "cut or lifted out" in found.counted_from
    assert float(found.rows[0][1].removesuffix(" %")) < 0.5
    assert any("Only one weighing" in sentence for sentence in found.sentences)


def test_nothing_weighed_says_what_to_do(engine: Engine, asking: Asking, wheels_aged: Aged) -> None:
    with engine.begin() as db:
        bare = a_wheel(db, "26-09Z", 10, wheels_aged.cave)
    assert asking(bare) == Told("unknown", NOT_WEIGHED)


def test_a_wheel_that_is_gone_is_not_foretold(engine: Engine, asking: Asking, wheels_aged: Aged) -> None:
    with engine.begin() as db:
        enter(db, Ended(how="eaten"), 1, wheel_id=wheels_aged.even)
    assert asking(wheels_aged.even) == Told("unknown", NO_LONGER_HERE)


def test_moisture_only_where_a_starting_moisture_was_given(engine: Engine, asking: Asking, wheels_aged: Aged) -> None:
    assert asking(wheels_aged.even).moisture == []
    with engine.begin() as db:
        make_id = "0199aaaa-0000-7000-8000-00000000000a"
        enter(db, MakeSheet(made_on=date(2026, 1, 11), moisture_pct=42, fat_pct=29), 60, make_id=make_id)
        grams = (2500.0, 2470.0, 2450.0, 2432.0)
        own = a_wheel(db, "26-02M", 60, wheels_aged.cave, grams, make_id=make_id, style_id=wheels_aged.style)
    moisture, standard = asking(own).moisture
    assert "from 42 % at its start" in moisture
    assert standard.startswith("Codex CXS 283-1978: ")


def test_a_wheel_that_nobody_placed_is_guessed_and_says_so(engine: Engine, asking: Asking, wheels_aged: Aged) -> None:
    with engine.begin() as db:
        lost = a_wheel(db, "26-03N", 60, None, (2500.0, 2470.0, 2450.0, 2432.0), style_id=wheels_aged.style)
    found = asking(lost)
    assert "Nobody said where it stands, so its air is a guess." in found.sentences
    placed = asking(wheels_aged.even)
    assert _width(found) > _width(placed)


def _width(found: Told) -> float:
    low, high = found.rows[-1][2].split(" to ")
    return float(high) - float(low)
