import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.calibration.fit import Point, fit
from collector.errors import EntryRefused


def test_one_point_gives_an_offset_only() -> None:
    found = fit([Point(72.0, 75.6, 0.75)])
    assert (found.offset, found.gain, found.gain_error, found.freedom) == (pytest.approx(3.6), 1.0, 0.0, 0)
    assert found.offset_only


# What a keeper is told of table salt alone: good at 75, at 90 take +-4 until there is a second point (twice the
# standard uncertainty). Common practice, no source.
def test_one_point_at_75_is_good_there_and_take_4_at_90() -> None:
    found = fit([Point(75.6, 75.6, 0.75)])
    assert 2 * found.uncertainty(75.6) == pytest.approx(1.5)
    assert 2 * found.uncertainty(90.0) == pytest.approx(4.0, abs=0.2)


def test_a_second_point_mends_it() -> None:
    found = fit([Point(74.0, 75.66, 0.75), Point(95.1, 98.07, 1.1)])
    assert not found.offset_only
    assert 2 * found.uncertainty(88.0) < 1.8
    assert found.uncertainty(40.0) > found.uncertainty(70.0)


def test_one_salt_twice_is_still_one_point_but_better_known() -> None:
    once, twice = fit([Point(72.0, 75.6, 0.8)]), fit([Point(72.0, 75.6, 0.8), Point(72.4, 75.6, 0.8)])
    assert twice.offset_only
    assert twice.offset == pytest.approx(3.4)
    assert twice.offset_error == pytest.approx(once.offset_error / np.sqrt(2))
    assert twice.freedom == 1


def test_points_that_lie_on_no_line_are_suspicious_and_widen_the_errors() -> None:
    good = fit([Point(33.0, 33.4, 0.3), Point(75.0, 75.7, 0.3), Point(86.0, 86.4, 0.3)])
    bad = fit([Point(33.0, 33.4, 0.3), Point(72.0, 75.7, 0.3), Point(86.0, 86.4, 0.3)])
    assert not good.suspicious
    assert bad.suspicious
    assert bad.standard_error(80.0) > 3 * good.standard_error(80.0)


def test_refuses_a_gain_that_no_probe_has() -> None:
    with pytest.raises(EntryRefused, match=r"The gain would be 1\.5\d, it must be 0\.75 to 1\.3") as refused:
        fit([Point(70.0, 75.6, 0.5), Point(84.5, 98.1, 0.8)])
    assert refused.value.field == "points"


def test_refuses_a_correction_that_no_probe_needs() -> None:
    with pytest.raises(EntryRefused, match=r"reads 58\.2 %RH where 75\.6 is true, more than 15 points off"):
        fit([Point(58.2, 75.6, 0.7)])


@pytest.mark.parametrize(
    ("points", "message"),
    [
        ([], "points must be 1 to 10, got 0"),
        ([Point(75, 75, 0.0)], "uncertainty must be above 0 .* got 0"),
        ([Point(-3, 75, 0.5)], "reading must be from 0 to 119 %RH, got -3"),
        ([Point(float("nan"), 75, 0.5)], "reading of every point must be a number, got nan"),
    ],
)
def test_refuses_wrong_calls(points: list[Point], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        fit(points)


@given(
    st.floats(-5, 5),
    st.floats(0.9, 1.1),
    st.lists(st.floats(20, 99), min_size=2, max_size=8, unique=True),
    st.floats(0.1, 2),
)
def test_points_on_a_line_give_that_line(offset: float, gain: float, readings: list[float], u: float) -> None:
    points = [Point(r, offset + gain * r, u) for r in readings if 0 <= offset + gain * r <= 119]
    if np.ptp([p.reading for p in points] or [0]) < 10 or any(abs(p.true - p.reading) > 14.9 for p in points):
        return
    found = fit(points)
    assert (found.offset, found.gain) == (pytest.approx(offset, abs=1e-6), pytest.approx(gain, abs=1e-7))
    assert not found.suspicious


@given(st.lists(st.tuples(st.floats(60, 99), st.floats(-2, 2)), min_size=1, max_size=5), st.floats(0, 119))
def test_uncertainty_is_never_below_the_fit_s_own(rows: list[tuple[float, float]], reading: float) -> None:
    try:
        found = fit([Point(r, r + d, 0.7) for r, d in rows])
    except EntryRefused:
        return
    assert found.uncertainty(reading) >= found.standard_error(reading)


# A thousand home checks: the stated errors cover what the fit misses (normal errors, 68 %).
def test_errors_are_as_large_as_what_the_fit_misses() -> None:
    rng = np.random.default_rng(5)
    missed, stated = [], []
    for _ in range(1_000):
        reading = np.array([33.0, 74.0, 95.0])
        true = 1.5 + 1.01 * reading + rng.normal(0, [0.5, 0.7, 0.9])
        found = fit([Point(r, t, u) for r, t, u in zip(reading, true, [0.5, 0.7, 0.9], strict=True)])
        missed.append(float(found.corrected(88.0)) - (1.5 + 1.01 * 88.0))
        stated.append(float(found.standard_error(88.0)))
    assert np.mean(np.abs(missed) <= stated) == pytest.approx(0.68, abs=0.05)
