"""Whether to open the door: the airs are invented, the sentences are for a person in front of it."""

import pytest

from collector.air.model import Origin
from dashboard.air_now import AirNow, Now
from dashboard.airing_words import airing_line
from tests.dashboard.places_seen import a_target_value

# Inside: 12 degC; the target of the builder is 10 to 14 degC, 82 to 92 %.
TARGET = a_target_value()


def air(t: float | None, h: float | None, origin: Origin = Origin.MEDIAN, surface_c: float | None = None) -> AirNow:
    def now(value: float | None, uncertainty: float) -> Now:
        return Now(value, uncertainty, origin, (), "p")

    surface = None if surface_c is None else now(surface_c, 0.5)
    return AirNow(now(t, 0.3), now(h, 3.0), surface, ())


@pytest.mark.parametrize(
    ("inside", "outside", "said"),
    [
        ((12, 97), (4, 70), "Airing now helps: it would dry and cool it."),
        ((12, 97), (24, 80), "Better not air now. Water would come down on the wheels."),
        ((12, 70), (4, 60), "Better not air now: it would dry and cool it."),
        ((12, 88), (4, 60), "Airing now would dry and cool it."),
        ((12, 88), (12.1, 88), "Airing now would change little."),
    ],
)
def test_the_line_says_what_it_does_and_whether_that_is_wanted(
    inside: tuple[float, float], outside: tuple[float, float], said: str
) -> None:
    assert airing_line(air(*inside), air(*outside), TARGET) == said


def test_a_cold_wall_gets_wet_first() -> None:
    said = airing_line(air(14, 80, surface_c=8.0), air(13, 85), TARGET)
    assert said == "Better not air now. Water would come down on wall or ceiling."


def test_without_a_target_nothing_is_called_good_or_bad() -> None:
    assert airing_line(air(12, 97), air(4, 70), None) == "Airing now would dry and cool it."


@pytest.mark.parametrize(
    ("inside", "outside"),
    [
        (air(None, 90), air(4, 70)),
        (air(12, 90), air(4, None)),
        (air(12, 90, Origin.ASSUMED), air(4, 70)),
        (air(12, 90), air(75, 70)),
        (air(12, 90), air(4, 70, Origin.PARENT)),
    ],
)
def test_without_both_airs_measured_nothing_is_said(inside: AirNow, outside: AirNow) -> None:
    assert airing_line(inside, outside, TARGET) == ""
