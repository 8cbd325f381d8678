"""The limits that pure functions hold their arguments to, and the one sentence in which they refuse."""

import numpy as np
from numpy.typing import ArrayLike, NDArray


def within(name: str, values: ArrayLike, least: float, most: float, unit: str) -> NDArray[np.float64]:
    """The values as an array of floats, if each lies in a closed range.

    Args:
        name: the argument's name, for the sentence.
        values: numbers in any unit; a NaN is a gap and passes.
        least, most: the bounds, in the unit of the values; both are allowed.
        unit: that unit, for the sentence.
    Returns:
        An array of the same shape.
    Raises:
        ValueError: naming the argument, the first value outside, and the limits.
    Source: our choice, because a pure function refuses what cleaning should have caught.
    """
    array = np.asarray(values, dtype=np.float64)
    wrong = (array < least) | (array > most)
    if np.any(wrong):
        raise ValueError(f"{name} must be from {least:.10g} to {most:.10g} {unit}, got {array[wrong].flat[0]:.10g}")
    return array


def above_zero(name: str, values: ArrayLike, most: float, unit: str) -> NDArray[np.float64]:
    """The values as an array of floats, if each is above 0 and at most `most`; otherwise as `within`."""
    array = np.asarray(values, dtype=np.float64)
    wrong = (array <= 0) | (array > most)
    if np.any(wrong):
        raise ValueError(f"{name} must be above 0 and at most {most:.10g} {unit}, got {array[wrong].flat[0]:.10g}")
    return array
