import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.demo.weather import DAY_MS
from collector.demo.wheels import (
    COVERINGS,
    Covered,
    Stay,
    Style,
    Wheel,
    flux_coefficient,
    gives_off_kg_s_pa,
    shelf,
)

BARE = Style("tomme", fresh_k=5e-9, settles_d=20.0, activity=0.97)


def a_wheel(**changes) -> Wheel:
    facts = {
        "code": "25-01A",
        "style": BARE,
        "made_ms": 0,
        "gone_ms": 100 * DAY_MS,
        "pieces": 1,
        "diameter_m": 0.20,
        "height_m": 0.10,
        "stays": (Stay("counter", 0), Stay("cellar", 2 * DAY_MS)),
        "coverings": (Covered("bare", 0), Covered("wax", 30 * DAY_MS)),
    }
    return Wheel(**(facts | changes))


def test_size_gives_area_and_mass():
    # Reference values, 7.1: 0.20 m across, 0.10 m high: 0.125664 m2, 3.393 kg at 1080 kg/m3.
    assert a_wheel().area_m2 == pytest.approx(0.125664, abs=1e-6)
    assert a_wheel().made_g == pytest.approx(3393, abs=0.5)
    assert a_wheel(pieces=14).made_g == pytest.approx(14 * a_wheel().made_g)


@pytest.mark.parametrize(
    ("k", "factor", "within"),
    # Reference values, 7.2, 12 degC, h 4, h_rad 5, a_w 0.97, 85 %: the full balance of heat at the air's limit of k,
    # 0.2 to 3.5 % above the closed form that is used here; and what a developed rind is left with.
    [(2.698e-8, 0.606, 0.035), (3e-9, 0.93, 0.005)],
)
def test_the_rinds_own_cooling_slows_it(k, factor, within):
    style = Style("fresh", fresh_k=k, settles_d=1e12, activity=0.97)
    assert flux_coefficient(style, 0, "bare") / k == pytest.approx(factor, rel=within)


def test_a_rind_gives_off_less_as_it_ages_like_one_over_the_root():
    settled = flux_coefficient(BARE, 20, "bare") / flux_coefficient(BARE, 0, "bare")
    # 0.5 ** 0.5, a little more because the slower rind cools itself less.
    assert settled == pytest.approx(0.5**0.5, abs=0.03)
    assert flux_coefficient(BARE, 2000, "bare") == pytest.approx(flux_coefficient(BARE, 500, "bare") / 2, rel=0.05)


@given(st.floats(0, 1000), st.sampled_from(sorted(COVERINGS)))
def test_a_covering_never_helps_water_out(age_d, covering):
    covered = flux_coefficient(BARE, age_d, covering)
    assert 0 < covered <= flux_coefficient(BARE, age_d, "bare")
    if COVERINGS[covering] is not None:
        assert covered < COVERINGS[covering]


def test_an_age_below_0_and_an_unknown_covering_are_refused():
    with pytest.raises(ValueError, match="age_d must be 0 or more, got -1"):
        flux_coefficient(BARE, -1, "bare")
    with pytest.raises(ValueError, match=r"covering must be one of bare, .*, got velvet"):
        flux_coefficient(BARE, 1, "velvet")


def test_stays_and_coverings_hold_until_the_next():
    wheel = a_wheel()
    assert wheel.place_at(2 * DAY_MS - 1) == "counter"
    assert wheel.place_at(2 * DAY_MS) == "cellar"
    assert wheel.covering_at(30 * DAY_MS - 1) == "bare"
    assert wheel.covering_at(99 * DAY_MS) == "wax"
    assert [wheel.is_there(at) for at in (-1, 0, 100 * DAY_MS - 1, 100 * DAY_MS)] == [False, True, True, False]


def test_a_shelf_adds_up_what_stands_on_it():
    fresh = a_wheel(made_ms=9 * DAY_MS, stays=(Stay("cellar", 9 * DAY_MS),), coverings=(Covered("bare", 9 * DAY_MS),))
    other = a_wheel(style=Style("blue", 1e-9, 30.0, 0.93))
    wheels = (fresh, other, a_wheel(stays=(Stay("box", 0),)), a_wheel(gone_ms=DAY_MS))
    open_k, activity = shelf(wheels, "cellar", 10 * DAY_MS)
    each = [gives_off_kg_s_pa(wheel, 10 * DAY_MS) for wheel in (fresh, other)]
    assert open_k == pytest.approx(sum(each))
    assert activity == pytest.approx((0.97 * each[0] + 0.93 * each[1]) / sum(each))


def test_an_empty_shelf_gives_off_nothing():
    assert shelf((), "cellar", 0) == (0.0, 1.0)
