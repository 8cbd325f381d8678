"""Chance that is a pure function of seed, stream and index, so that any day of the demo can be drawn alone.

numpy's Philox is a counter-based generator: key and counter together name one stretch of random numbers, whatever
was drawn before. Everything after the draw is adding and multiplying, which numpy rounds alike for every array
shape; sines and exponentials may differ in the last bit with the shape, so slow courses come from tables here.
"""

import zlib
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
TimeArray = NDArray[np.int64]

HIGHEST_SEED = 2**64 - 1
# Knots are drawn this many at a time, because starting a generator costs more than drawing from it.
KNOTS_PER_DRAW = 64
# Root of the mean square sum of the four cubic B-spline weights, 151/315: it brings the wander to unit variance.
SPLINE_SPREAD = (151 / 315) ** 0.5
TURN_STEPS = 4096


def generator(seed: int, stream: str, index: int) -> np.random.Generator:
    """The generator of one stretch of one stream; the same three always give the same numbers.

    Args:
        seed: the world's seed, 0 to 2**64 - 1.
        stream: what the chance is for; two names are two unrelated streams.
        index: the stretch (a day, a block of knots), any sign.
    Returns:
        A fresh generator at the start of that stretch.
    Raises:
        ValueError: a seed outside its range.
    """
    if not 0 <= seed <= HIGHEST_SEED:
        raise ValueError(f"seed must be from 0 to {HIGHEST_SEED}, got {seed}")
    key = np.array([seed, zlib.crc32(stream.encode())], dtype=np.uint64)
    counter = np.array([0, index % 2**64, 0, 0], dtype=np.uint64)
    return np.random.Generator(np.random.Philox(key=key, counter=counter))


@lru_cache(maxsize=4096)
def _drawn_knots(seed: int, stream: str, draw: int) -> FloatArray:
    knots = generator(seed, stream, draw).standard_normal(KNOTS_PER_DRAW)
    knots.setflags(write=False)
    return knots


def _knots(seed: int, stream: str, first: int, last: int) -> FloatArray:
    draws = range(first // KNOTS_PER_DRAW, last // KNOTS_PER_DRAW + 1)
    drawn = np.concatenate([_drawn_knots(seed, stream, draw) for draw in draws])
    start = first - draws[0] * KNOTS_PER_DRAW
    return drawn[start : start + last - first + 1]


def wander(seed: int, stream: str, at_ms: TimeArray, knot_ms: int) -> FloatArray:
    """A smooth random course of mean 0 and variance 1 that forgets itself after some three knots.

    Args:
        seed: the world's seed, 0 to 2**64 - 1.
        stream: what the course is for.
        at_ms: times [ms since 1970, UTC], shape (n,), in order; a long gap between them costs memory.
        knot_ms: distance of the random knots that a cubic B-spline runs through [ms], above 0.
    Returns:
        The course at those times, shape (n,).
    Raises:
        ValueError: a seed or a knot distance outside its range.
    Source: uniform cubic B-spline weights (any text on splines); normal knots are our choice.
    """
    if knot_ms <= 0:
        raise ValueError(f"knot_ms must be above 0, got {knot_ms}")
    if not at_ms.size:
        return np.zeros(0)
    left = at_ms // knot_ms
    first = int(left[0]) - 1
    knots = _knots(seed, stream, first, int(left[-1]) + 2)
    u = (at_ms - left * knot_ms) / knot_ms
    at = left - first
    u2, u3, v = u * u, u * u * u, 1 - u
    course = v * v * v * knots[at - 1] + (3 * u3 - 6 * u2 + 4) * knots[at]
    course += (3 * u + 3 * u2 - 3 * u3 + 1) * knots[at + 1] + u3 * knots[at + 2]
    return course / (6 * SPLINE_SPREAD)


_TURN = np.cos(np.linspace(0.0, 2 * np.pi, TURN_STEPS + 1))


def turn(phase: FloatArray) -> FloatArray:
    """Cosine of a phase counted in whole turns, read from a table to 3e-7.

    Args:
        phase: turns, any finite value; 0 gives 1, 0.5 gives -1.
    Returns:
        The cosine, the same shape.
    """
    place = (phase - np.floor(phase)) * TURN_STEPS
    step = np.minimum(place.astype(np.int64), TURN_STEPS - 1)
    share = place - step
    cosine: FloatArray = _TURN[step] * (1 - share) + _TURN[step + 1] * share
    return cosine
