import numpy as np
import pytest

from collector.limits import above_zero, within


def test_a_value_within_its_limits_comes_back_as_floats() -> None:
    assert within("shelf_c", [2, 5], 2, 5, "degC").tolist() == [2.0, 5.0]
    assert above_zero("shelf_pct", 100, 100, "%") == 100.0


def test_gaps_pass() -> None:
    assert np.isnan(within("shelf_c", [np.nan, 3], 2, 5, "degC")).tolist() == [True, False]
    assert np.isnan(above_zero("shelf_pct", np.nan, 100, "%"))


@pytest.mark.parametrize("wrong", [1.999, 5.001, -np.inf, np.inf])
def test_the_first_value_outside_is_named_with_both_limits(wrong: float) -> None:
    with pytest.raises(ValueError, match=rf"^shelf_c must be from 2 to 5 degC, got {wrong}$"):
        within("shelf_c", np.array([[3, wrong], [7, 3]]), 2, 5, "degC")


@pytest.mark.parametrize("wrong", [0, -1, 100.0004])
def test_zero_and_more_than_the_most_are_refused_with_the_digits_that_matter(wrong: float) -> None:
    with pytest.raises(ValueError, match=rf"^shelf_pct must be above 0 and at most 100 %, got {wrong}$"):
        above_zero("shelf_pct", wrong, 100, "%")
