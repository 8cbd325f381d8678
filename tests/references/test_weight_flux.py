"""Flux, rind temperature and the rind's cooling against values computed independently of the product.

Source: a table worked out from the Lewis relation with air of 12 degC and 101325 Pa (rho 1.2379 kg/m3, Le 0.860 with D
of Massman 1998), p_s 1402.591 Pa, latent heat 2.4727 MJ/kg; its example wheel is 0.20 m across and 0.10 m high.
"""

import numpy as np
import pytest

from dashboard.wheels.weight.flux import (
    air_k,
    cooling_factor,
    driving_pressure_pa,
    flux_kg_m2_s,
    in_series,
    rind_temperature_c,
)
from dashboard.wheels.weight.priors import open_area_m2

AREA_M2, DAY_S = 0.125664, 86_400
HUMIDITY = np.array([75.0, 80.0, 85.0, 90.0, 95.0])


@pytest.mark.parametrize(
    ("h", "k"),
    [(2, 1.349e-8), (3, 2.024e-8), (4, 2.698e-8), (5, 3.373e-8), (6, 4.047e-8), (8, 5.396e-8), (10, 6.745e-8)],
)
def test_what_the_air_lets_through(h: float, k: float) -> None:
    assert air_k(h) == pytest.approx(k, rel=1e-3)


def test_driving_pressure_at_12_degrees() -> None:
    assert driving_pressure_pa(0.97, 12, 12, HUMIDITY) == pytest.approx([308.6, 238.4, 168.3, 98.2, 28.1], abs=0.06)


@pytest.mark.parametrize(
    ("activity", "k", "grams"),
    [
        (0.99, 3e-9, (10.96, 8.68, 6.40, 4.11, 1.83)),
        (0.97, 3e-9, (10.05, 7.77, 5.48, 3.20, 0.91)),
        (0.95, 3e-9, (9.14, 6.85, 4.57, 2.28, 0.00)),
        (0.97, 1e-8, (33.50, 25.89, 18.27, 10.66, 3.05)),
        (0.97, 2.7e-8, (90.46, 69.90, 49.34, 28.78, 8.22)),
    ],
)
def test_loss_of_the_example_wheel_by_the_day(activity: float, k: float, grams: tuple[float, ...]) -> None:
    lost = 1000 * DAY_S * AREA_M2 * flux_kg_m2_s(k, activity, 12, 12, HUMIDITY)
    assert lost == pytest.approx(grams, abs=0.006)


def test_its_area_and_weight_are_the_tables() -> None:
    assert open_area_m2(3393, 200, 100) == pytest.approx(AREA_M2, rel=1e-5)
    assert open_area_m2(3393) == pytest.approx(AREA_M2, rel=1e-3)  # half as high as wide, as this one is


@pytest.mark.parametrize(
    ("radiation", "colder_k", "share"),
    [
        (0.0, (-2.140, -1.640, -1.148, -0.664, -0.188), (0.415, 0.412, 0.408, 0.405, 0.402)),
        (5.0, (-1.397, -1.075, -0.756, -0.440, -0.125), (0.610, 0.608, 0.606, 0.604, 0.601)),
    ],
)
def test_a_wet_rind_is_colder_than_the_air(
    radiation: float, colder_k: tuple[float, ...], share: tuple[float, ...]
) -> None:
    k = air_k(4.0)
    rind_c = rind_temperature_c(12, HUMIDITY, 0.97, k, 4.0, radiation)
    assert rind_c - 12 == pytest.approx(colder_k, abs=2e-3)
    against = flux_kg_m2_s(k, 0.97, rind_c, 12, HUMIDITY) / flux_kg_m2_s(k, 0.97, 12, 12, HUMIDITY)
    assert against == pytest.approx(share, abs=1.5e-3)
    # The closed form is 0.2 to 3.5 % low in this table.
    low = 1 - cooling_factor(12, k, 0.97, 4.0 + radiation) / against
    assert np.all((low > 0.001) & (low < 0.036))


@pytest.mark.parametrize(("warm", "share"), [(6, 0.685), (8, 0.659), (12, 0.606), (16, 0.552), (20, 0.498)])
def test_cooling_depends_on_the_temperature(warm: float, share: float) -> None:
    k = air_k(4.0)
    rind_c = rind_temperature_c(warm, 85, 0.97, k)
    against = flux_kg_m2_s(k, 0.97, rind_c, warm, 85) / flux_kg_m2_s(k, 0.97, warm, warm, 85)
    assert against == pytest.approx(share, abs=1.5e-3)


def test_cooling_fades_behind_a_developed_rind() -> None:
    assert cooling_factor(12, 3e-9) == pytest.approx(0.93, abs=0.005)


def test_layers_resist_one_after_another() -> None:
    assert in_series(2.7e-8, 3.375e-9) == pytest.approx(3e-9)  # 1/k = 1/k_air + 1/k_skin
    with pytest.raises(ValueError, match="above 0"):
        in_series(1e-9, 0.0)


def test_above_its_activity_a_rind_takes_up_water() -> None:
    assert driving_pressure_pa(0.95, 12, 12, 97) < 0 < driving_pressure_pa(0.95, 12, 12, 93)
    assert rind_temperature_c(12, 97, 0.95, 2.7e-8) > 12
