"""Counting warnings, and what false alarms suggest."""

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.records.facts import Target
from collector.records.warnings import CaveWarning
from dashboard.warnings.tally import LONGEST_GRACE_MIN, SIDES, offer, tally
from tests.dashboard.conftest import NOW_AT

TARGET = Target("t", NOW_AT, NOW_AT, "cave", False, 10.0, 14.0, 82.0, 92.0, 120)


def one(rule: str = "too_damp", hours: float = 3, worst: float | None = 94.0, **more: object) -> CaveWarning:
    values: dict[str, object] = {
        "place_id": "cave", "cleared_at": NOW_AT + timedelta(hours=hours), "facts": {"worst": worst}, **more,
    }  # fmt: skip
    return CaveWarning("w", rule, "warn", NOW_AT, NOW_AT, **values)  # type: ignore[arg-type]


def test_counts_by_subject_and_rule() -> None:
    rows = tally([one(judged="right"), one(judged="false"), one(), one("too_dry"), one(place_id=None, probe="p")])
    assert [(r.place_id, r.probe, r.rule, r.times, r.right, r.false) for r in rows] == [
        ("cave", None, "too_damp", 3, 1, 1),
        ("cave", None, "too_dry", 1, 0, 0),
        (None, "p", "too_damp", 1, 0, 0),
    ]


def test_two_false_alarms_are_no_reason_to_change_anything() -> None:
    assert offer([one()] * 2, TARGET, NOW_AT) is None


@pytest.mark.parametrize(
    ("rule", "worst", "column", "limit"),
    [
        ("too_damp", 94.2, "humidity_high_pct", 95.0),
        ("too_damp", 94.0, "humidity_high_pct", 95.0),  # at the limit itself it would still be said
        ("too_dry", 80.4, "humidity_low_pct", 80.0),
        ("too_warm", 14.6, "temperature_high_c", 15.0),
        ("too_cold", 9.2, "temperature_low_c", 9.0),
    ],
)
def test_the_smallest_wider_limit_takes_in_the_worst(rule: str, worst: float, column: str, limit: float) -> None:
    found = offer([one(rule, worst=worst)] * 3, TARGET, NOW_AT)
    assert found is not None
    assert (found.column, found.limit) == (column, limit)


def test_a_long_way_out_is_no_matter_of_the_limit() -> None:
    found = offer([one(worst=99.5)] * 3, TARGET, NOW_AT)
    assert found is not None
    assert (found.limit, found.grace_min) == (None, 210)


def test_a_long_spell_is_no_matter_of_the_grace() -> None:
    found = offer([one(hours=3), one(hours=3), one(hours=20)], TARGET, NOW_AT)
    assert found is not None
    assert (found.limit, found.grace_min) == (95.0, None)


def test_with_neither_nothing_is_offered() -> None:
    assert offer([one(hours=40, worst=99.9)] * 3, TARGET, NOW_AT) is None


@pytest.mark.parametrize("target", [None, Target("t", NOW_AT, NOW_AT, "cave", True)])
def test_without_a_target_there_is_nothing_to_change(target: Target | None) -> None:
    assert offer([one()] * 3, target, NOW_AT) is None


def test_a_kind_that_no_limit_rules_offers_nothing() -> None:
    assert offer([one("wheels_may_sweat")] * 3, TARGET, NOW_AT) is None


@given(
    st.sampled_from(sorted(SIDES)), st.floats(-20, 120), st.floats(0.1, 200), st.lists(st.floats(-20, 120), max_size=4)
)
def test_an_offer_never_makes_a_target_narrower(rule: str, worst: float, hours: float, more: list[float]) -> None:
    found = offer([one(rule, hours, value) for value in (worst, worst, worst, *more)], TARGET, NOW_AT)
    if found is None:
        return
    side = SIDES[rule]
    if found.limit is not None:
        now = getattr(TARGET, side.column)
        assert 0 < side.sign * (found.limit - now) <= side.furthest
        assert all(side.sign * value < side.sign * found.limit for value in (worst, *more))
    if found.grace_min is not None:
        assert TARGET.grace_min < found.grace_min <= LONGEST_GRACE_MIN
