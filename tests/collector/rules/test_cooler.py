"""Facts about the rule on the cooler; its sizes are our choice, its judges are coolers made to known figures."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collector.air.model import STEP_MS
from collector.rules.cooler import COOLER_CHANGED
from collector.rules.cooler_days import DAY_MS, cooler_days, usual
from collector.rules.model import PlaceSituation, Verdict
from tests.collector.rules.coolers import DAY_MIN, a_cooled_place, a_saw
from tests.collector.rules.places import DAY, START_MS, finished_before, judged_in_parts, open_at, part_of


def judged(place: PlaceSituation) -> list[Verdict]:
    return COOLER_CHANGED.judge(place, None)


def from_day(day: int, days: int, before: float, after: float) -> np.ndarray:
    return np.where(np.arange(days * DAY_MIN) < day * DAY_MIN, before, after)


def slowly(day: int, days: int, before: float, after: float) -> np.ndarray:
    share = np.clip((np.arange(days * DAY_MIN) / DAY_MIN - day) / (days - day), 0, 1)
    return before + share * (after - before)


def day_of(ms: int | None) -> float:
    assert ms is not None
    return (ms - START_MS) / DAY_MS


def test_a_cooler_that_does_as_ever_raises_nothing() -> None:
    assert judged(a_cooled_place(a_saw(40 * DAY_MIN))) == []


def test_a_cooler_that_works_more_is_told() -> None:
    [verdict] = judged(a_cooled_place(a_saw(40 * DAY_MIN, duty=from_day(25, 40, 0.3, 0.6))))
    assert verdict.facts["what"] == ["works_more"]
    assert day_of(verdict.opened_ms) == 28  # when three whole days show it
    assert verdict.facts["usual"]["duty"] == pytest.approx(0.3, abs=0.05)
    assert verdict.facts["now"]["duty"] == pytest.approx(0.6, abs=0.05)
    assert verdict.facts["since_ms"] == verdict.opened_ms - 3 * DAY_MS


def test_a_cooler_that_dies_slowly_is_told_before_it_is_dead() -> None:
    days = 50
    saw = a_saw(
        days * DAY_MIN,
        duty=slowly(20, days, 0.3, 0.95),
        length_min=slowly(20, days, 40, 130),
        mean_c=slowly(20, days, 12, 13),
    )
    [verdict] = judged(a_cooled_place(saw))
    assert "works_more" in verdict.facts["what"] or "longer" in verdict.facts["what"]
    assert 20 < day_of(verdict.opened_ms) < 40


@pytest.mark.parametrize(("length", "word"), [(80.0, "longer"), (20.0, "shorter")])
def test_a_change_of_length_is_told(length: float, word: str) -> None:
    [verdict] = judged(a_cooled_place(a_saw(40 * DAY_MIN, length_min=from_day(25, 40, 40.0, length))))
    assert verdict.facts["what"] == [word]


@pytest.mark.parametrize(("swing", "word"), [(4.0, "swings_more"), (1.0, "swings_less")])
def test_a_change_of_swing_is_told(swing: float, word: str) -> None:
    [verdict] = judged(a_cooled_place(a_saw(40 * DAY_MIN, swing_k=from_day(25, 40, 2.0, swing))))
    assert verdict.facts["what"] == [word]


def test_longer_rests_in_the_cold_are_nothing() -> None:
    # As much cooling at a time, twice as long a rest: it is colder around the cooler.
    saw = a_saw(40 * DAY_MIN, length_min=from_day(25, 40, 40.0, 70.0), duty=from_day(25, 40, 0.35, 0.2))
    assert judged(a_cooled_place(saw)) == []


def test_a_cooler_that_stopped_while_it_gets_warmer_is_told() -> None:
    days = 36
    saw = a_saw(days * DAY_MIN)
    still = np.arange(days * DAY_MIN) >= 25 * DAY_MIN
    saw[still] = 13.5 + 0.03 * np.random.default_rng(1).standard_normal(int(still.sum()))
    [verdict] = judged(a_cooled_place(saw))
    assert verdict.facts["what"] == ["stopped"]


def test_a_cooler_that_rests_because_it_is_cold_enough_is_nothing() -> None:
    days = 36
    saw = a_saw(days * DAY_MIN)
    still = np.arange(days * DAY_MIN) >= 25 * DAY_MIN
    saw[still] = 11.2 + 0.03 * np.random.default_rng(1).standard_normal(int(still.sum()))
    assert judged(a_cooled_place(saw)) == []


def test_a_place_that_never_had_a_cooler_cannot_lose_it() -> None:
    still = 12 + 0.03 * np.random.default_rng(1).standard_normal(36 * DAY_MIN)
    still[25 * DAY_MIN :] += 2
    assert judged(a_cooled_place(still)) == []


def test_a_repaired_cooler_clears_its_warning() -> None:
    duty = np.where((np.arange(45 * DAY_MIN) // DAY_MIN >= 25) & (np.arange(45 * DAY_MIN) // DAY_MIN < 33), 0.6, 0.3)
    [verdict] = judged(a_cooled_place(a_saw(45 * DAY_MIN, duty=duty)))
    assert verdict.facts["ended"] == "inside"
    assert 33 < day_of(verdict.cleared_ms) <= 36


def test_what_lasts_four_weeks_is_the_new_usual() -> None:
    [verdict] = judged(a_cooled_place(a_saw(70 * DAY_MIN, duty=from_day(25, 70, 0.3, 0.6))))
    assert verdict.facts["ended"] == "usual"
    assert day_of(verdict.cleared_ms) - day_of(verdict.opened_ms) == 28


def test_a_target_changed_on_purpose_is_nothing() -> None:
    days = 40
    saw = a_saw(
        days * DAY_MIN,
        duty=from_day(25, days, 0.3, 0.6),
        length_min=from_day(25, days, 40.0, 70.0),
        mean_c=from_day(25, days, 12, 8),
    )
    low = np.where(np.arange(days * DAY) < 25 * DAY, 10.0, 6.0)
    assert judged(a_cooled_place(saw, temperature=(low, low + 4))) == []


def test_a_cleaning_day_is_nothing() -> None:
    saw = a_saw(40 * DAY_MIN)
    rest = slice(30 * DAY_MIN + 500, 30 * DAY_MIN + 1200)
    saw[rest] = 20
    resting = np.zeros(40 * DAY, dtype=bool)
    resting[30 * DAY + 50 : 30 * DAY + 120] = True
    assert judged(a_cooled_place(saw, resting=resting)) == []


def test_hot_weather_is_no_fault_where_it_is_known() -> None:
    # Duty follows the weather; a hot week comes, first with the probe outside, then without.
    days = 40
    day = np.arange(days)
    outside = 15 + 4 * np.sin(2 * np.pi * day / 9) + np.where(day >= 30, 9.0, 0.0)
    duty = np.repeat(0.15 + 0.02 * outside, DAY_MIN)
    saw = a_saw(days * DAY_MIN, duty=duty)
    assert judged(a_cooled_place(saw, outside_c=np.repeat(outside, DAY))) == []
    broken = np.where(np.arange(days * DAY_MIN) < 30 * DAY_MIN, duty, duty + 0.25)
    told = judged(a_cooled_place(a_saw(days * DAY_MIN, duty=broken), outside_c=np.repeat(outside, DAY)))
    assert told[0].facts["what"] == ["works_more"]


def test_without_raw_readings_nothing_is_said() -> None:
    place = a_cooled_place(a_saw(2 * DAY_MIN))
    silent = part_of(place, 0, 2 * DAY, 0)
    silent = PlaceSituation(
        silent.air,
        silent.judged_from_ms,
        silent.temperature_band_c,
        silent.humidity_band_pct,
        silent.grace_ms,
        silent.resting,
    )
    assert judged(silent) == []


def test_a_week_without_readings_loses_the_warning() -> None:
    saw = a_saw(50 * DAY_MIN, duty=from_day(25, 50, 0.3, 0.6))
    saw[33 * DAY_MIN : 45 * DAY_MIN] = np.nan
    found = judged(a_cooled_place(saw))
    assert found[0].facts["ended"] == "lost"
    assert day_of(found[0].cleared_ms) == 40


def test_usual_is_the_line_against_the_weather_where_it_shows_one() -> None:
    # A line made by hand, 0.2 + 0.01 per degree, with one wild day: at 30 degC it says 0.5.
    outside = np.arange(10.0, 25.0)
    duty = 0.2 + 0.01 * outside
    duty[3] = 0.9
    found = usual(duty, outside, 30.0, 0.02)
    assert found is not None
    assert found.value == pytest.approx(0.5)
    assert found.spread == 0.02


def test_usual_is_the_median_without_weather() -> None:
    found = usual(np.array([1.0, 2.0, 9.0, np.nan]), np.full(4, np.nan), np.nan, 0.1)
    assert found is not None
    # Median 2; deviations 1, 0, 7, their median 1, times 1.4826.
    assert (found.value, found.spread) == (2.0, pytest.approx(1.4826))
    assert usual(np.full(3, np.nan), np.full(3, np.nan), np.nan, 0.1) is None


def test_days_tell_cycles_and_means() -> None:
    days = cooler_days(a_cooled_place(a_saw(4 * DAY_MIN)), START_MS // DAY_MS, START_MS // DAY_MS + 4)
    assert days.cycles == pytest.approx(np.full(4, 35), abs=1.1)
    assert days.mean_c == pytest.approx(np.full(4, 12.0), abs=0.05)
    assert days.usable.all()


PIECES = st.lists(
    st.tuples(
        st.integers(1, 12),
        st.sampled_from([0.3, 0.35, 0.65]),
        st.sampled_from([40.0, 80.0]),
        st.sampled_from([12.0, np.nan]),
    ),
    min_size=3,
    max_size=7,
)


@settings(deadline=None, max_examples=40)
@given(PIECES, st.data())
def test_judging_in_parts_says_what_one_pass_says(
    pieces: list[tuple[int, float, float, float]], data: st.DataObject
) -> None:
    pieces = [(12, 0.3, 40.0, 12.0), *pieces]
    days = sum(piece[0] for piece in pieces)
    duty, length, mean = (np.repeat([p[i] for p in pieces], [p[0] * DAY_MIN for p in pieces]) for i in (1, 2, 3))
    resting = np.zeros(days * DAY, dtype=bool)
    rest_at = data.draw(st.integers(0, days * DAY - 1))
    resting[rest_at : rest_at + data.draw(st.sampled_from([0, 30]))] = True
    place = a_cooled_place(a_saw(days * DAY_MIN, duty=duty, length_min=length, mean_c=mean), resting=resting)
    once = judged(place)
    assert judged_in_parts(COOLER_CHANGED, place, data.draw(st.lists(st.integers(1, days * DAY), max_size=6))) == once
    step = data.draw(st.integers(0, days * DAY - 1))
    at_ms = START_MS + step * STEP_MS
    carried = open_at(once, at_ms)
    again = COOLER_CHANGED.judge(part_of(place, step, days * DAY, COOLER_CHANGED.memory_ms), carried)
    assert finished_before(once, at_ms) + again == once
