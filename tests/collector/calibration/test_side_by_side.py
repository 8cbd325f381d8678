import numpy as np
import pytest

from collector.calibration.side_by_side import compare


def night(offset: float = -2.5, *, steps: int = 72, rho: float = 0.0, sd: float = 0.3, seed: int = 1):
    """Ten-minute means of a checked probe in a cycling fridge, and of one beside it that is off."""
    rng = np.random.default_rng(seed)
    true = 88 + 5 * np.sin(np.arange(steps) * 1.9) + 0.3 * rng.standard_normal(steps)
    scatter = np.zeros(steps)
    for i in range(steps):
        scatter[i] = rho * scatter[i - 1] + np.sqrt(1 - rho**2) * sd * rng.standard_normal()
    return true + offset + scatter, true


def test_the_offset_is_found_with_its_uncertainty() -> None:
    found = compare("humidity", *night(), 0.8)
    assert found.missing == ()
    assert found.offset == pytest.approx(2.5, abs=3 * found.standard_error)
    assert found.uncertainty == pytest.approx(np.sqrt(0.8**2 + 0.5**2 + found.standard_error**2))
    assert found.point.true - found.point.reading == pytest.approx(found.offset)


# n (1 - rho) / (1 + rho): at rho 0.8 the standard error grows threefold, and so must the stated one.
def test_values_that_resemble_each_other_count_less() -> None:
    missed, stated = [], []
    for seed in range(200):
        found = compare("humidity", *night(steps=144, rho=0.8, sd=0.6, seed=seed), 0.8)
        missed.append(found.offset - 2.5)
        stated.append(found.standard_error)
    assert np.median(stated) == pytest.approx(np.std(missed), rel=0.35)


def test_too_short_a_stay_is_not_enough() -> None:
    assert compare("humidity", *night(steps=20), 0.8).missing == ("time",)


def test_a_probe_that_is_still_settling_is_not_taken() -> None:
    reading, true = night()
    still = compare("humidity", reading - 4 * np.exp(-np.arange(72) / 30), true, 0.8)
    assert "still_moving" in still.missing


def test_two_that_do_not_hang_in_the_same_air_are_not_taken() -> None:
    reading, true = night()
    other = 88 + 5 * np.sin(np.arange(72) * 1.9 + 2.0)
    assert "scatter" in compare("humidity", other, true, 0.8).missing
    assert compare("humidity", reading, true, 0.8).missing == ()


def test_an_open_door_in_between_does_not_matter() -> None:
    reading, true = night()
    reading[20:23] -= 12
    reading[40] = np.nan
    found = compare("humidity", reading, true, 0.8)
    assert found.missing == ()
    assert found.steps == 71
    assert found.offset == pytest.approx(2.5, abs=0.2)


def test_nothing_in_common_is_nothing_known() -> None:
    found = compare("temperature", np.full(9, np.nan), np.full(9, 12.0), 0.1)
    assert (found.missing, found.steps) == (("time",), 0)
    assert np.isnan(found.offset)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (("weight", np.zeros(3), np.zeros(3), 0.1), "quantity must be one of humidity, .* got weight"),
        (("humidity", np.zeros(3), np.zeros(4), 0.1), "one and the same shape, got"),
        (("humidity", np.zeros(3), np.zeros(3), 0.0), "true_u must be above 0"),
    ],
)
def test_refuses_wrong_calls(call, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        compare(*call)
