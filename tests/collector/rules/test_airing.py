import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.rules.airing import AirNow, advise, wanted

CAVE = AirNow(12, 90, temperature_u_k=0.2, humidity_u_pct=2)


@pytest.fixture(autouse=True)
def si_units() -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)


def test_dry_looking_summer_air_wets_a_cave() -> None:
    # 25 degC 60 %: dew point 16.7 degC (ASHRAE psychrometrics by PsychroLib), above a wheel at 12 degC.
    airing = advise(CAVE, AirNow(25, 60))
    assert airing.outside_dew_c == pytest.approx(psychrolib.GetTDewPointFromRelHum(25, 0.60), abs=0.02)
    assert airing.effects == ("damper", "warmer")
    assert "wheels" in airing.condenses_on
    assert airing.worth_it(("drier",)) is False
    assert airing.worth_it(("warmer", "damper")) is False  # it does both, but it would come down on the wheels


def test_a_cold_night_dries_and_cools() -> None:
    airing = advise(CAVE, AirNow(4, 95))
    assert airing.effects == ("drier", "cooler")
    assert airing.condenses_on == ()
    assert airing.worth_it(("drier",)) is True
    assert airing.worth_it(("drier", "warmer")) is False
    assert airing.worth_it(()) is None


def test_water_is_the_difference_of_absolute_humidity() -> None:
    # Absolute humidity at 12 degC, ideal gas: 9.5919 g/m3 at 90 %, 7.4604 at 70 % (computed with PsychroLib's p_ws).
    airing = advise(CAVE, AirNow(12, 70))
    assert airing.water_g_m3 == pytest.approx(7.4604 - 9.5919, abs=0.002)
    assert airing.change_k == 0


def test_uncertainty_of_the_water_is_that_of_both_probes() -> None:
    # By hand at 12 degC: 2 % of 90 and 0.2 K at 6.6 % a kelvin of 9.592 g/m3, twice, as a root of squares.
    airing = advise(CAVE, AirNow(12, 90, temperature_u_k=0.2, humidity_u_pct=2))
    one = 9.592 * ((2 / 90) ** 2 + (0.066 * 0.2) ** 2) ** 0.5
    assert airing.water_u_g_m3 == pytest.approx(2**0.5 * one, rel=0.01)
    assert airing.effects == ()


def test_what_the_probes_cannot_tell_is_no_effect() -> None:
    assert "drier" in advise(CAVE, AirNow(12, 85, humidity_u_pct=1)).effects
    assert advise(CAVE, AirNow(12, 85, humidity_u_pct=5)).effects == ()


@pytest.mark.parametrize(("t", "h"), [(2.0, 80.0), (8.0, 60.0), (18.0, 50.0), (24.0, 40.0)])
def test_the_mixture_is_that_of_the_psychrometric_chart(t: float, h: float) -> None:
    # Adiabatic mixing of equal masses of dry air: mean enthalpy and mean humidity ratio (ASHRAE Fundamentals 2017,
    # chapter 1), computed with PsychroLib.
    ratios = [psychrolib.GetHumRatioFromRelHum(a, b / 100, 101325) for a, b in ((12.0, 90.0), (t, h))]
    heat = sum(psychrolib.GetMoistAirEnthalpy(a, w) for a, w in zip((12.0, t), ratios, strict=True)) / 2
    ratio = sum(ratios) / 2
    mixed_c = psychrolib.GetTDryBulbFromEnthalpyAndHumRatio(heat, ratio)
    mixed = advise(CAVE, AirNow(t, h)).mixed
    assert mixed.temperature_c == pytest.approx(mixed_c, abs=0.1)
    assert mixed.humidity_pct == pytest.approx(100 * psychrolib.GetRelHumFromHumRatio(mixed_c, ratio, 101325), abs=0.6)
    settled = min(1.0, psychrolib.GetVapPresFromHumRatio(ratio, 101325) / psychrolib.GetSatVapPres(12.0))
    assert mixed.settled_pct == pytest.approx(100 * settled, abs=0.5)


def test_two_damp_airs_far_apart_make_fog() -> None:
    # Saturated airs at 0 and 25 degC mix above the curve of saturation (any text on fog from mixing).
    airing = advise(AirNow(0, 100), AirNow(25, 100))
    assert airing.mixed.fog
    assert airing.mixed.humidity_pct == 100
    assert "air" in airing.condenses_on


def test_a_cold_ceiling_drips_before_the_wheels_do() -> None:
    # 14 degC 80 %: dew point 10.6 degC, between a ceiling at 9 and wheels at 12.
    assert advise(CAVE, AirNow(14, 80), surface_c=9.0).condenses_on == ("surface",)
    assert advise(CAVE, AirNow(14, 80)).condenses_on == ()


def test_air_that_is_not_known_is_refused() -> None:
    with pytest.raises(ValueError, match="the air outside must be known, got nan degC"):
        advise(CAVE, AirNow(float("nan"), 60))
    with pytest.raises(ValueError, match="humidity_pct must be above 0 and at most 100 %, got 0"):
        advise(CAVE, AirNow(10, 0))
    with pytest.raises(ValueError, match="temperature_c inside must be from -30 to 60 degC, got 90"):
        advise(AirNow(90, 50), AirNow(10, 60))


@pytest.mark.parametrize(
    ("t", "h", "expected"),
    [
        (12, 86, ()),
        (12, 95, ("drier",)),
        (16, 70, ("damper", "cooler")),
        (5, 99, ("drier", "warmer")),
        (None, None, ()),
    ],
)
def test_what_is_wanted_follows_from_the_target(t: float | None, h: float | None, expected: tuple[str, ...]) -> None:
    assert wanted(t, h, (10, 14), (82, 90)) == expected


def test_nothing_is_wanted_where_nothing_is_asked() -> None:
    assert wanted(30, 10, (None, None), (None, None)) == ()


TEMPERATURES, HUMIDITIES = st.floats(-10, 35), st.floats(5, 100)


@given(TEMPERATURES, HUMIDITIES, TEMPERATURES, HUMIDITIES)
def test_the_mixture_lies_between_the_two_airs(t: float, h: float, outside_t: float, outside_h: float) -> None:
    airing = advise(AirNow(t, h), AirNow(outside_t, outside_h))
    assert min(t, outside_t) - 1e-9 <= airing.mixed.temperature_c <= max(t, outside_t) + 1e-9
    assert 0 < airing.mixed.humidity_pct <= 100
    assert not {"drier", "damper"} <= set(airing.effects)


@given(TEMPERATURES, HUMIDITIES, TEMPERATURES, HUMIDITIES)
def test_what_wets_one_way_dries_the_other(t: float, h: float, outside_t: float, outside_h: float) -> None:
    there, back = (
        advise(AirNow(t, h), AirNow(outside_t, outside_h)),
        advise(AirNow(outside_t, outside_h), AirNow(t, h)),
    )
    assert there.water_g_m3 * back.water_g_m3 <= 0
    assert there.change_k == -back.change_k
