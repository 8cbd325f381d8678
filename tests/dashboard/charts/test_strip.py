"""The strip against positions worked out by hand."""

import pytest

from dashboard.charts.strip import WIDTH, Span, scale, strip


def test_a_band_in_the_middle_lies_in_the_middle() -> None:
    drawn = strip("air", (80.0, 100.0), band=(85.0, 95.0), now=90.0, uncertainty=2.0, day=(84.0, 91.0))
    assert (drawn.band, drawn.now_x) == (Span(80.0, 160.0), 160.0)
    assert drawn.doubt == Span(128.0, 64.0)
    assert drawn.day == Span(64.0, 112.0)


def test_an_open_end_reaches_to_the_edge() -> None:
    assert strip("air", (0.0, 10.0), band=(None, 5.0)).band == Span(0.0, 160.0)
    assert strip("air", (0.0, 10.0), band=(5.0, None)).band == Span(160.0, 160.0)


@pytest.mark.parametrize(("now", "outside", "x"), [(-1.0, "left", 0.0), (11.0, "right", WIDTH), (5.0, "", 160.0)])
def test_a_value_beyond_the_scale_says_on_which_side(now: float, outside: str, x: float) -> None:
    drawn = strip("air", (0.0, 10.0), now=now)
    assert (drawn.outside, drawn.now_x) == (outside, x)


def test_no_value_and_no_band_draw_nothing() -> None:
    drawn = strip("air", (0.0, 1.0))
    assert (drawn.band, drawn.now_x, drawn.doubt, drawn.day) == (None, None, None, None)


def test_refuses_a_scale_of_no_width() -> None:
    with pytest.raises(ValueError, match="got 3 to 3"):
        strip("air", (3.0, 3.0))


def test_a_scale_leaves_room_round_band_and_values() -> None:
    assert scale((10.0, 20.0), [25.0, None]) == (6.5, 28.5)


@pytest.mark.parametrize(
    ("band", "values"), [(None, []), (None, [None]), (None, [4.0]), ((4.0, None), []), (None, [4.0, 4.0])]
)
def test_a_scale_always_goes_up(band: tuple[float | None, float | None] | None, values: list[float | None]) -> None:
    low, high = scale(band, values)
    assert low < high
