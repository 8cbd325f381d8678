"""What a place's card says, case by case."""

from dataclasses import replace
from datetime import timedelta

import pytest

from dashboard.household import Household
from dashboard.place_view import PlaceView, Silence, Situation, view
from dashboard.warnings.told import Told
from dashboard.whom import Group, Limits
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.places_seen import a_target_value, a_told

UTC_HOUSE = Household(time_zone="UTC")
TARGET = a_target_value()
SITUATION = Situation(NOW_AT, 12.0, 88.0, target=TARGET)
TOMME = Group("tomme", 3, Limits(10, 13, 85, 92))


def seen(**changes: object) -> PlaceView:
    return view(replace(SITUATION, **changes), UTC_HOUSE)  # type: ignore[arg-type]


def test_air_inside_its_target_is_all_right_and_for_whom() -> None:
    assert seen() == PlaceView("good", "All right")
    assert seen(groups=[TOMME]) == PlaceView("good", "All right", "Fine for tomme (3)")


def test_a_drift_says_for_how_long_and_where_it_is_heading() -> None:
    dry = a_told("too dry", hours_ago=21, says=("83 % over the last hour.", "Still going, 0.3 % an hour."))
    assert seen(air=[dry], humidity_pct=83.0) == PlaceView(
        "watch", "Too dry for 21 h", heading="Still going, 0.3 % an hour."
    )


def test_the_loudest_problem_comes_first() -> None:
    problems = [a_told("too dry", hours_ago=30), a_told("too warm", hours_ago=2, state="bad")]
    found = seen(air=problems)
    assert (found.state, found.headline) == ("bad", "Too warm for 2 h, too dry for 1 day 6 h")


def test_air_that_has_just_left_its_target_is_watched() -> None:
    assert seen(humidity_pct=93.0) == PlaceView("watch", "Too damp just now", heading="A warning comes after 2 h.")


def test_a_target_that_does_not_suit_the_wheels_is_told() -> None:
    washed = Group("washed rind", 6, Limits(10, 14, 92, 97))
    assert seen(groups=[TOMME, washed]) == PlaceView(
        "watch", "Within its target, not right for all its wheels", "Fine for tomme (3), too dry for washed rind (6)"
    )


@pytest.mark.parametrize(
    ("silence", "said"),
    [
        (Silence("probe", NOW_AT - timedelta(hours=12)), "No word from the probe since 02:10"),
        (Silence("probes", NOW_AT - timedelta(hours=24)), "No word from the probes since yesterday 14:10"),
        (Silence("typed", NOW_AT - timedelta(hours=1)), "Nothing typed since 13:10"),
        (Silence("doubted"), "The probe cannot be believed"),
        (Silence("nothing"), "Nothing is measured here yet"),
    ],
)
def test_silence_is_never_all_right(silence: Silence, said: str) -> None:
    assert seen(silence=silence) == PlaceView("unknown", said)


def test_silence_does_not_hide_what_was_wrong_before() -> None:
    dry = a_told("too dry", hours_ago=21, state="bad")
    found = seen(silence=Silence("probe", NOW_AT - timedelta(hours=1)), air=[dry])
    assert (found.state, found.heading) == ("bad", "Before that: too dry for 21 h.")


def test_what_is_not_judged_is_not_called_good() -> None:
    assert seen(measured=False) == PlaceView("unknown", "Not measured here")
    assert seen(target=None) == PlaceView("unknown", "No target yet")
    assert seen(target=a_target_value(resting=True)) == PlaceView("unknown", "Resting: nothing is asked of its air")


def test_without_a_target_the_wheels_decide() -> None:
    assert seen(target=None, groups=[TOMME]) == PlaceView("good", "No target yet", "Fine for tomme (3)")
    assert seen(target=None, groups=[TOMME], humidity_pct=70.0).state == "watch"


def test_of_the_air_outside_nothing_is_asked() -> None:
    assert seen(is_outside=True, target=None) == PlaceView("good", "")


def test_a_warning_that_says_little_still_makes_a_headline() -> None:
    told: Told = a_told("cooler has changed", hours_ago=0)
    assert seen(air=[told]) == PlaceView("watch", "Cooler has changed for less than a minute")
