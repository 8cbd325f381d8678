import numpy as np
import pytest

from collector.calibration.settling import Settling, settling

MINUTE_MS = 60_000
CLOSED_MS = 1_760_000_000_000


def jar(
    minutes: float,
    *,
    every_min: float = 1,
    lag_min: float = 15,
    from_rh: float = 60.0,
    to_rh: float = 75.6,
    from_t: float = 12.4,
    swing_k: float = 0.0,
    step: float = 0.01,
) -> Settling:
    """A probe put into a jar: both approach their ends, humidity bent by the temperature that still moves."""
    minute = np.arange(0, minutes + 1e-9, every_min)
    rng = np.random.default_rng(int(minutes * 10 + every_min))
    gone = np.exp(-minute / lag_min)
    t = 12.0 + (from_t - 12.0) * np.exp(-minute / 60) + swing_k / 2 * np.sin(minute / 30 * 2 * np.pi)
    rh = to_rh + (from_rh - to_rh) * gone - 4.8 * (t - 12.0) * 0.5
    taken = CLOSED_MS + (minute * MINUTE_MS).astype(np.int64)
    noisy_rh = np.round((rh + rng.normal(0, 0.1, len(rh))) / step) * step
    noisy_t = np.round((t + rng.normal(0, 0.02, len(t))) / 0.01) * 0.01
    return settling(taken, noisy_rh, taken, noisy_t, CLOSED_MS, int(taken[-1]))


# A probe needs 10 to 30 minutes in a salt chamber, 20 to 40 at high humidity (a humidity calibrator's manual).
def test_a_quick_look_is_never_enough() -> None:
    assert "time" in jar(15, lag_min=1, from_t=12.0).missing
    assert jar(35, lag_min=1, from_t=12.0).settled
    assert jar(35, lag_min=1, from_t=12.0, to_rh=98.1, from_rh=90).missing == ("time",)


def test_refuses_while_the_temperature_moves() -> None:
    early = jar(60, from_t=18.0)
    assert "temperature" in early.missing
    assert early.temperature_per_h < -0.5
    assert early.wait_min is not None
    assert early.wait_min > 30


def test_refuses_while_the_humidity_moves_in_a_still_temperature() -> None:
    slow = jar(90, lag_min=60, from_t=12.0)
    assert slow.missing == ("humidity",)
    assert slow.humidity_per_h > 1
    assert slow.wait_min is not None
    assert slow.wait_min > 30


def test_refuses_a_jar_in_a_cooler_s_cycle_and_cannot_say_how_long() -> None:
    cycling = jar(240, from_t=12.0, swing_k=1.2)
    assert "temperature" in cycling.missing
    assert cycling.wait_min is None


def test_says_when_it_has_settled_and_what_was_read() -> None:
    done = jar(180)
    assert done.settled
    assert done.wait_min == 0.0
    assert done.reading_pct == pytest.approx(75.6, abs=0.15)
    assert done.temperature_c == pytest.approx(12.0, abs=0.05)
    assert done.reading_u_pct < 0.1


@pytest.mark.parametrize("lag_min", [10, 20, 30])
def test_what_is_taken_as_settled_is_within_half_a_point(lag_min: float) -> None:
    first = next(m for m in range(10, 600, 5) if jar(m, lag_min=lag_min, from_t=15.0).settled)
    assert jar(first, lag_min=lag_min, from_t=15.0).reading_pct == pytest.approx(75.6, abs=0.7)
    assert first <= 420


def test_the_wait_it_names_is_about_right() -> None:
    for minutes in (45, 60, 90):
        told = jar(minutes, from_t=16.0).wait_min
        assert told is not None
        truly = next(m for m in range(minutes, 900, 5) if jar(m, from_t=16.0).settled) - minutes
        assert told == pytest.approx(truly, rel=0.6, abs=25)


def test_a_coarse_probe_says_how_coarse_it_is() -> None:
    assert jar(180, step=1.0, to_rh=75.5).reading_u_pct >= 0.28


def test_a_probe_that_reports_rarely_takes_longer() -> None:
    assert "readings" in jar(45, every_min=10, from_t=12.0).missing
    assert jar(120, every_min=10, from_t=12.0).settled


def test_a_probe_that_reports_every_second_is_judged_too() -> None:
    assert jar(120, every_min=1 / 60, from_t=12.0).settled


def test_readings_from_before_the_lid_was_closed_are_not_looked_at() -> None:
    taken = CLOSED_MS + np.arange(-60, 1) * MINUTE_MS
    still = settling(taken, np.full(61, 75.6), taken, np.full(61, 12.0), CLOSED_MS, CLOSED_MS)
    assert set(still.missing) >= {"readings", "time"}


def test_nothing_read_is_nothing_known() -> None:
    none = np.empty(0, dtype=np.int64)
    empty = settling(none, np.empty(0), none, np.empty(0), CLOSED_MS, CLOSED_MS + 10 * MINUTE_MS)
    assert "readings" in empty.missing
    assert np.isnan(empty.reading_pct)
    assert empty.wait_min is None
