"""Minimum ages by the federal standards.

Read in: California Code of Regulations, title 3, section 415, and the handbook's Table 10.1 "U.S. FDA compositional
standards for natural cheeses" (after 21 CFR 133, 2003) for asiago, blue, gorgonzola, gruyere and caciocavallo; CFR
copies for cheddar, hard, hard grating, parmesan, romano, soft ripened, swiss, asiago medium, gouda, granular.
"""

from datetime import date

import pytest

from dashboard.wheels.kinds.styles import STYLES
from dashboard.wheels.minimum_ages import GENERAL, MINIMUM_AGES, WARMTH_C


@pytest.mark.parametrize(
    ("section", "count", "unit", "raw_only"),
    [
        ("133.102", 60, "days", False),
        ("133.103", 6, "months", False),
        ("133.104", 12, "months", False),
        ("133.106", 60, "days", False),
        ("133.111", 90, "days", False),
        ("133.113", 60, "days", True),
        ("133.141", 90, "days", False),
        ("133.144", 60, "days", True),
        ("133.148", 6, "months", False),
        ("133.149", 90, "days", False),
        ("133.150", 60, "days", True),
        ("133.165", 10, "months", False),
        ("133.182", 60, "days", True),
        ("133.183", 5, "months", False),
        ("133.195", 60, "days", False),
    ],
)
def test_agrees_with_the_federal_standard(section: str, count: int, unit: str, raw_only: bool) -> None:
    row = MINIMUM_AGES[section]
    assert (row.count, row.unit, row.raw_only) == (count, unit, raw_only)
    assert row.read


def test_what_was_not_read_says_so() -> None:
    assert MINIMUM_AGES["133.108"].source == "21 CFR 133.108 (as remembered, not read)"
    assert GENERAL.source == "21 CFR 133.150"


def test_thirty_five_fahrenheit() -> None:
    assert pytest.approx((35 - 32) / 1.8, abs=0.01) == WARMTH_C


def test_days_and_months_are_counted_from_the_day_of_making() -> None:
    assert GENERAL.ends_on(date(2025, 1, 31)) == date(2025, 4, 1)
    assert MINIMUM_AGES["133.103"].ends_on(date(2025, 8, 31)) == date(2026, 2, 28)  # six months; no 31 February
    assert MINIMUM_AGES["133.165"].ends_on(date(2025, 3, 1)) == date(2026, 1, 1)


def test_every_style_to_begin_with_names_a_section_that_is_known() -> None:
    assert {style.minimum_age_section for style in STYLES.values()} <= set(MINIMUM_AGES)
