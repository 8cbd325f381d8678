"""The board's floats have 24 bits; the hundredths that go out must not suffer from it."""

import numpy as np

from firmware_notes.node import pack

RAW = np.arange(65536)


def hundredths(offset: float, span: float, kind: type) -> np.ndarray:
    """sht.py's formula over every raw word, in the order in which the board computes it."""
    values = kind(offset) + kind(span) * RAW.astype(kind) / kind(65535)
    return np.round(values * kind(100)).astype(int)


def test_hundredths_of_a_degree_are_the_same_to_one_step() -> None:
    for offset, span in ((-45, 175), (-6, 125), (0, 100)):
        exact, board = hundredths(offset, span, np.float64), hundredths(offset, span, np.float32)
        assert np.abs(exact - board).max() <= 1
        assert np.mean(exact != board) < 0.01


def test_seconds_since_1970_would_not_survive_a_float() -> None:
    # Why the program never makes a float of a time: the board's clock would go in steps of two minutes.
    assert np.spacing(np.float32(1_790_000_000)) == 128


def test_whole_steps_keep_every_digit() -> None:
    assert [pack.number(steps, 4) for steps in (90625, -250625)] == ["9.0625", "-25.0625"]
