import pytest

from collector.calibration.due import DAY_MS, Due, next_check

FIRST_MS, CHECKED_MS = 1_000 * DAY_MS, 2_000 * DAY_MS


# "A few times a year" for probes above 80 %RH: common practice, no source.
@pytest.mark.parametrize(
    ("quantity", "humidity", "days"),
    [
        ("humidity", 70, 180),
        ("humidity", 85, 120),
        ("humidity", 95, 90),
        ("humidity", float("nan"), 120),
        ("temperature", 90, 365),
    ],
)
def test_the_damper_the_sooner(quantity: str, humidity: float, days: int) -> None:
    assert next_check(quantity, FIRST_MS, CHECKED_MS, humidity) == Due(CHECKED_MS + days * DAY_MS, "calendar")


def test_a_probe_that_was_never_checked_is_due_at_once() -> None:
    assert next_check("humidity", FIRST_MS, None) == Due(FIRST_MS, "never_checked")
    assert next_check("temperature", FIRST_MS, None) == Due(FIRST_MS + 365 * DAY_MS, "calendar")


def test_a_sign_of_trouble_brings_it_forward_and_one_before_the_check_does_not() -> None:
    before, after, late = CHECKED_MS - DAY_MS, CHECKED_MS + 9 * DAY_MS, CHECKED_MS + 500 * DAY_MS
    assert next_check("humidity", FIRST_MS, CHECKED_MS, 90, (before, late, after)) == Due(after, "sign")
    assert next_check("humidity", FIRST_MS, CHECKED_MS, 90, (before, late)) == Due(
        CHECKED_MS + 120 * DAY_MS, "calendar"
    )


def test_a_door_needs_no_check() -> None:
    assert next_check("door", FIRST_MS, None) is None
