import numpy as np
import pytest

from collector.saturation import KELVIN_AT_0_C, OVER_ICE, OVER_WATER, SaturationCurve

CURVES = pytest.mark.parametrize(
    ("curve", "celsius"),
    [(OVER_WATER, np.arange(-100, 200.5, 0.5)), (OVER_ICE, np.arange(-100, 0.02, 0.5))],
    ids=["water", "ice"],
)


@CURVES
def test_the_inverse_gives_the_temperature_back(curve: SaturationCurve, celsius: np.ndarray) -> None:
    kelvin = celsius + KELVIN_AT_0_C
    np.testing.assert_allclose(curve.temperature_k(curve.ln_pressure(kelvin)), kelvin, rtol=0, atol=1e-9)


# numpy's own derivative of second order is the judge; at a step of 1 mK its error is 1e-6 of the slope or less.
@CURVES
def test_the_slope_is_the_derivative_of_the_curve(curve: SaturationCurve, celsius: np.ndarray) -> None:
    offsets = np.array([[-1e-3], [0.0], [1e-3]])
    numeric = np.gradient(curve.ln_pressure(celsius + KELVIN_AT_0_C + offsets), 1e-3, axis=0)[1]
    np.testing.assert_allclose(curve.slope_per_k(celsius + KELVIN_AT_0_C), numeric, rtol=1e-6)


@CURVES
def test_a_gap_stays_a_gap(curve: SaturationCurve, celsius: np.ndarray) -> None:
    assert np.isnan(curve.temperature_k(np.array([np.nan, 6.0]))).tolist() == [True, False]


# Over ice and over water the pressure is the same at the triple point, 611.657 Pa (IAPWS, from memory).
def test_the_curves_meet_at_the_triple_point() -> None:
    for curve in (OVER_WATER, OVER_ICE):
        assert np.exp(curve.ln_pressure(np.array(273.16))) == pytest.approx(611.657, abs=1e-3)
