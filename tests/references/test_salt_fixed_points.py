"""Greenspan, J. Res. Nat. Bur. Stand. 81A:89 (1977), table 2, and printed copies of it."""

import numpy as np
import pytest

from collector.calibration.salts import BY_NAME, humidity_over_pct, salt_named, uncertainty_over_pct

AT_C = (5, 10, 15, 20, 25, 30)

# Table 2. NaCl and MgCl2 from 15 to 30 degC as quoted page by page in a fact sheet on hygrometers; the others to one
# decimal as printed by T. Padfield and in a humidity calibrator's manual; Mg(NO3)2 and NaBr's second decimal: memory.
GREENSPAN = {
    "MgCl2": (33.60, 33.47, 33.30, 33.07, 32.78, 32.44),
    "K2CO3": (43.13, 43.14, 43.15, 43.16, 43.16, 43.17),
    "Mg(NO3)2": (58.86, 57.36, 55.87, 54.38, 52.89, 51.40),
    "NaBr": (63.51, 62.15, 60.68, 59.14, 57.57, 56.03),
    "NaCl": (75.65, 75.67, 75.61, 75.47, 75.29, 75.09),
    "KCl": (87.67, 86.77, 85.92, 85.11, 84.34, 83.62),
    "KNO3": (96.27, 95.96, 95.41, 94.62, 93.58, 92.31),
    "K2SO4": (98.48, 98.18, 97.89, 97.59, 97.30, 97.00),
}
UNCERTAINTY = {
    "MgCl2": (0.28, 0.24, 0.21, 0.18, 0.16, 0.14),
    "Mg(NO3)2": (0.43, 0.33, 0.27, 0.23, 0.22, 0.24),
    "NaBr": (0.72, 0.60, 0.51, 0.44, 0.40, 0.38),
    "NaCl": (0.27, 0.22, 0.18, 0.14, 0.12, 0.11),
    "KCl": (0.45, 0.39, 0.33, 0.29, 0.26, 0.25),
    "KNO3": (2.1, 1.4, 0.96, 0.66, 0.55, 0.60),
    "K2SO4": (0.91, 0.76, 0.63, 0.53, 0.45, 0.40),
}


# 0.02: the paper's own table is rounded or cut (NaCl at 25 degC: polynomial 75.298, table 75.29).
@pytest.mark.parametrize("name", sorted(GREENSPAN))
def test_fixed_points_agree_with_the_published_table(name: str) -> None:
    ours = humidity_over_pct(BY_NAME[name], np.array(AT_C, dtype=float))
    np.testing.assert_allclose(ours, GREENSPAN[name], atol=0.0201)


# A humidity calibrator's manual prints "Greenspan's calibration table" to one decimal; T. Padfield's table agrees but
# for NaCl at 20 degC, where it slips (75.7). K2CO3 with a minus, as a source file in circulation has it, fails here.
@pytest.mark.parametrize(
    ("name", "at_c", "printed"),
    [("NaCl", 20, 75.5), ("K2SO4", 10, 98.2), ("KCl", 25, 84.3), ("K2CO3", 25, 43.2), ("MgCl2", 20, 33.1)],
)
def test_fixed_points_agree_with_printed_copies(name: str, at_c: float, printed: float) -> None:
    assert humidity_over_pct(BY_NAME[name], at_c) == pytest.approx(printed, abs=0.06)


# The polynomials of the C and C# copies, with the signs mended, evaluated at a cave's 12 degC.
@pytest.mark.parametrize(
    ("name", "expected"),
    [("MgCl2", 33.42), ("K2CO3", 43.15), ("NaCl", 75.66), ("KCl", 86.43), ("KNO3", 95.77), ("K2SO4", 98.07)],
)
def test_fixed_points_at_cave_temperature(name: str, expected: float) -> None:
    assert humidity_over_pct(BY_NAME[name], 12.0) == pytest.approx(expected, abs=0.006)


@pytest.mark.parametrize("name", sorted(UNCERTAINTY))
def test_uncertainties_are_the_published_ones(name: str) -> None:
    ours = uncertainty_over_pct(BY_NAME[name], np.array(AT_C, dtype=float))
    np.testing.assert_allclose(ours, UNCERTAINTY[name], atol=1e-9)


# A printed copy gives 0.4 from 10 to 30 degC and 0.5 at 5, memory says 0.33 at 15 and 20: we claim no less than either.
def test_where_two_sources_differ_the_larger_uncertainty_holds() -> None:
    ours = uncertainty_over_pct(BY_NAME["K2CO3"], np.array(AT_C, dtype=float))
    assert np.all(ours >= np.array([0.50, 0.40, 0.40, 0.40, 0.40, 0.50]) - 1e-9)


# The CRC Handbook's fit RH = A exp(B / T), "generally +-2 %", agrees with Greenspan within 0.2 for NaCl and KCl only.
def test_salts_that_a_keeper_is_led_to_are_known_within_a_point() -> None:
    for name in ("NaCl", "K2SO4", "KCl"):
        assert np.all(uncertainty_over_pct(BY_NAME[name], np.array([8.0, 12.0, 16.0])) < 1.0)


def test_lithium_chloride_is_not_offered_for_caves() -> None:
    assert "LiCl" not in BY_NAME
    with pytest.raises(ValueError, match="must not be LiCl: below 18 Cel"):
        salt_named("LiCl")
