"""Faster or slower than its kind, and why."""

from dataclasses import replace

from dashboard.wheels.weight.pace import AIR, COVERING, FASTER, NEITHER, SLOWER, Pace, Verdict, against_kind

USUAL = Pace(0.10, 150.0, 1.0, 60.0)
KIND = [USUAL, replace(USUAL, rate_pct_d=0.11), replace(USUAL, rate_pct_d=0.09)]


def test_like_its_kind() -> None:
    assert against_kind(replace(USUAL, rate_pct_d=0.12), KIND).word == ""


def test_faster_by_drier_air() -> None:
    verdict = against_kind(replace(USUAL, rate_pct_d=0.20, pull_pa=290.0), KIND)
    assert (verdict.word, verdict.reason) == (FASTER, AIR)
    assert 1.9 < verdict.times < 2.1


def test_slower_by_its_covering() -> None:
    verdict = against_kind(replace(USUAL, rate_pct_d=0.04, open_share=0.4), KIND)
    assert (verdict.word, verdict.reason) == (SLOWER, COVERING)


def test_faster_for_no_reason_that_we_know() -> None:
    assert against_kind(replace(USUAL, rate_pct_d=0.20), KIND) == Verdict(FASTER, NEITHER, 2.0)


def test_air_that_should_have_slowed_it_is_no_reason_for_being_faster() -> None:
    assert against_kind(replace(USUAL, rate_pct_d=0.20, pull_pa=80.0), KIND).reason == NEITHER


def test_only_wheels_of_about_its_age_count() -> None:
    young = [replace(one, age_d=10.0, rate_pct_d=3 * one.rate_pct_d) for one in KIND]
    assert against_kind(USUAL, young) == Verdict()
    assert against_kind(replace(USUAL, rate_pct_d=0.20), [*young, *KIND]).word == FASTER


def test_too_few_make_no_kind() -> None:
    assert against_kind(replace(USUAL, rate_pct_d=0.9), KIND[:1]) == Verdict()
    assert against_kind(replace(USUAL, rate_pct_d=-0.1), KIND) == Verdict()
