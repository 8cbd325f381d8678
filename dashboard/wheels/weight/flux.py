"""How fast water leaves a surface: flux, the air's own resistance, and how much colder a wet rind is; pure."""

import numpy as np
from numpy.typing import ArrayLike

from collector.limits import within
from collector.moist_air import saturation_pressure_pa
from collector.saturation import KELVIN_AT_0_C, OVER_WATER, FloatArray

# Air at 12 degC and 101325 Pa: rho 1.2379 kg/m3, Lewis number 0.860 (D of Massman 1998, from memory); from 8 to 16 degC
# within 1 %. cp of dry air 1006 J/(kg K).
AIR_KG_M3, AIR_J_KG_K, LEWIS = 1.2379, 1006.0, 0.860
WATER_GAS_J_KG_K = 461.523
LATENT_J_KG = 2.4727e6
AT_K = 285.15
# Our choice for quiet caves: still air 4 W/(m2 K), and what a rind takes up by radiation from walls, 5 W/(m2 K).
STILL_W_M2_K, RADIATION_W_M2_K = 4.0, 5.0
NEWTON_STEPS = 12


def air_k(convection_w_m2_k: ArrayLike) -> FloatArray:
    """What still or moving air lets through, from how it carries heat.

    Args:
        convection_w_m2_k: heat transfer of the air alone [W m-2 K-1], 0 to 100.
    Returns:
        k [kg m-2 s-1 Pa-1] at 12 degC; between 8 and 16 degC it is the same within 1 %. A NaN stays a NaN.
    Raises:
        ValueError: outside that range.
    Source: Lewis relation, k = h / (rho cp Le^(2/3) R_v T).
    """
    h = within("convection_w_m2_k", convection_w_m2_k, 0.0, 100.0, "W/(m2 K)")
    return np.asarray(h / (AIR_KG_M3 * AIR_J_KG_K * LEWIS ** (2 / 3) * WATER_GAS_J_KG_K * AT_K))


def driving_pressure_pa(
    activity: ArrayLike, rind_c: ArrayLike, temperature_c: ArrayLike, humidity_pct: ArrayLike
) -> FloatArray:
    """The pull of the air on the water of a rind.

    Args:
        activity: water activity of the rind, 0 to 1. rind_c: its temperature [degC], -100 to 200.
        temperature_c: of the air. humidity_pct: of the air over water [%], 0 to 100. All broadcast.
    Returns:
        Pressure [Pa]; below 0 where the rind takes up water. A NaN stays a NaN.
    Raises:
        ValueError: a value outside its range.
    Source: a_w p_s(T_s) - RH p_s(T), the usual two-film form (e.g. J. Food Eng. 110:109-116, 2012).
    """
    own = within("activity", activity, 0.0, 1.0, "") * saturation_pressure_pa(rind_c)
    air = within("humidity_pct", humidity_pct, 0.0, 100.0, "%") / 100 * saturation_pressure_pa(temperature_c)
    return np.asarray(own - air)


def rind_temperature_c(
    temperature_c: ArrayLike, humidity_pct: ArrayLike, activity: ArrayLike, k: ArrayLike,
    convection_w_m2_k: ArrayLike = STILL_W_M2_K, radiation_w_m2_k: ArrayLike = RADIATION_W_M2_K,
) -> FloatArray:  # fmt: skip
    """How warm a rind is that gives off water: what it takes from air and walls is what evaporating costs.

    Args:
        temperature_c: of the air and of the walls [degC], -40 to 60. humidity_pct: of the air [%], 0 to 100.
        activity: of the rind, 0 to 1. k: to the air [kg m-2 s-1 Pa-1], 0 or more.
        convection_w_m2_k, radiation_w_m2_k: heat transfer [W m-2 K-1], together above 0. All broadcast.
    Returns:
        Temperature [degC], to 1e-9 K; above the air's where water is taken up. A NaN stays a NaN.
    Raises:
        ValueError: a value outside its range.
    Source: (h + h_rad)(T - T_s) = L k (a_w p_s(T_s) - RH p_s(T)), solved by Newton's method.
    """
    air_c = within("temperature_c", temperature_c, -40.0, 60.0, "degC")
    heat = np.asarray(convection_w_m2_k, dtype=float) + np.asarray(radiation_w_m2_k, dtype=float)
    cost = LATENT_J_KG * np.asarray(k, dtype=float)
    rind_c = np.broadcast_to(
        air_c, np.broadcast_shapes(*(np.shape(a) for a in (air_c, humidity_pct, activity, k, heat)))
    )
    for _ in range(NEWTON_STEPS):
        pull = driving_pressure_pa(activity, rind_c, air_c, humidity_pct)
        slope = np.asarray(activity, dtype=float) * _slope_pa_k(rind_c)
        rind_c = rind_c - (cost * pull - heat * (air_c - rind_c)) / (cost * slope + heat)
    return np.asarray(rind_c)


def cooling_factor(
    temperature_c: ArrayLike, k: ArrayLike, activity: ArrayLike = 0.97,
    heat_w_m2_k: float = STILL_W_M2_K + RADIATION_W_M2_K,
) -> FloatArray:  # fmt: skip
    """By how much less a rind gives off than if it were as warm as the air.

    Args:
        temperature_c: of the air [degC], -100 to 200. k: to the air [kg m-2 s-1 Pa-1], 0 or more.
        activity: of the rind, 0 to 1. heat_w_m2_k: convection and radiation together [W m-2 K-1], above 0.
    Returns:
        Factor, above 0 and at most 1; 0.2 to 3.5 % low against the exact balance from 75 to 95 % humidity. It
        depends on the temperature and hardly on the humidity. A NaN stays a NaN.
    Source: the balance of `rind_temperature_c` in a straight line at the air's temperature.
    """
    cost = LATENT_J_KG * np.asarray(k, dtype=float) * np.asarray(activity, dtype=float)
    return np.asarray(1 / (1 + cost * _slope_pa_k(temperature_c) / heat_w_m2_k))


def _slope_pa_k(temperature_c: ArrayLike) -> FloatArray:
    kelvin = np.asarray(temperature_c, dtype=float) + KELVIN_AT_0_C
    return np.asarray(saturation_pressure_pa(temperature_c) * OVER_WATER.slope_per_k(kelvin))


def flux_kg_m2_s(
    k: ArrayLike, activity: ArrayLike, rind_c: ArrayLike, temperature_c: ArrayLike, humidity_pct: ArrayLike
) -> FloatArray:
    """Water that leaves a surface.

    Args:
        k: to the air, coverings in series [kg m-2 s-1 Pa-1], 0 or more; the rest as `driving_pressure_pa`.
    Returns:
        Flux [kg m-2 s-1]; below 0 where water is taken up. A NaN stays a NaN.
    Raises:
        ValueError: a value outside its range.
    Source: as `driving_pressure_pa`.
    """
    return np.asarray(np.asarray(k, dtype=float) * driving_pressure_pa(activity, rind_c, temperature_c, humidity_pct))


def in_series(*resisting_k: float) -> float:
    """k of layers that lie on each other, such as air, rind and cloth [kg m-2 s-1 Pa-1], each above 0.

    Raises:
        ValueError: none given, or one that is not above 0.
    Source: resistances in series add, 1/k = 1/k_air + 1/k_skin.
    """
    if not resisting_k or min(resisting_k) <= 0:
        raise ValueError(f"each k in series must be above 0, got {resisting_k}")
    return 1 / sum(1 / one for one in resisting_k)
