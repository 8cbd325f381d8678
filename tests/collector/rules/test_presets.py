import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.rules.presets import (
    GRACE_MIN,
    LEAST_WIDTH_PCT,
    PRACTICE,
    PRESETS,
    Preset,
    Suits,
    humidity_band,
    whom_it_suits,
    why,
)
from collector.rules.spells import LONGEST_GRACE_STEPS


# University of Guelph, Food Science, "Humidity and curing": washed bacterial rinds 90-95 %, dry rinds 80-85 %.
@pytest.mark.parametrize(("name", "published"), [("smeared", (90, 95)), ("dry", (80, 85))])
def test_published_bands_are_as_published_and_named(name: str, published: tuple[float, float]) -> None:
    assert PRESETS[name].humidity_pct == published
    assert "Guelph" in PRESETS[name].humidity_source


def test_every_other_row_is_marked_common_practice() -> None:
    others = [p for name, p in PRESETS.items() if name not in ("smeared", "dry")]
    assert {p.humidity_source for p in others} == {PRACTICE}
    assert {p.temperature_source for p in PRESETS.values()} == {PRACTICE}


@pytest.mark.parametrize("preset", PRESETS.values(), ids=lambda p: p.name)
def test_a_row_holds_together(preset: Preset) -> None:
    assert preset.temperature_c[0] < preset.temperature_c[1]
    assert preset.why.endswith(".")
    band = humidity_band(preset, checked=False)
    if preset.humidity_pct is None:
        assert band is None
        return
    assert band is not None
    assert band[1] - band[0] >= LEAST_WIDTH_PCT
    assert band[0] <= preset.humidity_pct[0]
    assert preset.humidity_pct[1] <= band[1] < 100
    assert humidity_band(preset, checked=True) == preset.humidity_pct


def test_an_unchecked_probe_gets_a_wider_band_and_is_told_why() -> None:
    assert humidity_band(PRESETS["washed"], checked=False) == (91.5, 97.5)
    assert "nobody has checked this probe" in why(PRESETS["washed"], checked=False)
    assert why(PRESETS["washed"], checked=True) == PRESETS["washed"].why
    assert why(PRESETS["bloomy"], checked=False) == PRESETS["bloomy"].why


def test_the_usual_grace_is_one_that_rules_bear() -> None:
    assert 0 < GRACE_MIN <= LONGEST_GRACE_STEPS * 10


def test_the_same_air_is_fine_for_some_and_damp_for_others() -> None:
    assert whom_it_suits(12.0, 95.0, {"washed": 6, "natural": 3, "waxed": 2}) == [
        Suits("natural", 3, ("too damp",)),
        Suits("washed", 6, ()),
        Suits("waxed", 2, ()),
    ]


def test_two_things_can_be_wrong_at_once() -> None:
    [one] = whom_it_suits(18.0, 60.0, {"bloomy": 4})
    assert one.complaints == ("too warm", "too dry")
    [other] = whom_it_suits(5.0, 99.0, {"cloth": 1})
    assert other.complaints == ("too cold", "too damp")


def test_nobody_suffers_from_what_the_probe_may_have_invented() -> None:
    assert whom_it_suits(12.0, 95.0, {"natural": 3}, humidity_u_pct=3.0)[0].complaints == ()


def test_what_is_unknown_is_no_complaint() -> None:
    assert whom_it_suits(None, None, {"natural": 3})[0].complaints == ()


def test_kinds_that_no_row_knows_and_empty_shelves_are_left_out() -> None:
    assert whom_it_suits(30.0, 10.0, {"mystery": 3, "natural": 0}) == []


@given(st.floats(-5, 35), st.floats(1, 100), st.floats(0, 10), st.sampled_from(sorted(PRESETS)))
def test_a_less_certain_probe_never_makes_more_complaints(t: float, h: float, u: float, name: str) -> None:
    [sure], [unsure] = whom_it_suits(t, h, {name: 1}), whom_it_suits(t, h, {name: 1}, humidity_u_pct=u)
    assert set(unsure.complaints) <= set(sure.complaints)
