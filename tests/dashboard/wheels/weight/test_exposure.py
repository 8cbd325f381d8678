"""The driving pressure over time: sums, unknown time, coverings, and the same whatever the probe's pace."""

from pathlib import Path

import numpy as np
import pytest

from collector.air.model import Air, Origin
from collector.air.read import AirReader
from collector.moist_air import saturation_pressure_pa
from collector.readings.model import Arrival, Mark, Sample
from collector.readings.reader import Readings
from collector.readings.rollups import follow
from collector.readings.store import SqliteReadings
from collector.records.columns import from_ms
from collector.records.facts import Facts, Place, Placement
from dashboard.wheels.weight.exposure import GUESSED, MEASURED, Home, Under, exposed
from tests.dashboard.wheels.weight.air_of_tests import DAY_MS, FROM_MS, air, at, felt

ACTIVITY = 0.97


def test_steady_air_is_its_driving_pressure_times_time() -> None:
    # 168.3 Pa at 12 degC and 85 % for an activity of 0.97 (computed independently).
    assert felt(3).mean_pull_pa(ACTIVITY) == pytest.approx(168.3, abs=0.1)
    assert felt(3).full_pa_s.sum() == pytest.approx(3 * 86_400 * 1402.591, rel=1e-4)


def test_above_its_activity_the_sum_is_negative() -> None:
    assert felt(2, damp=99.0).mean_pull_pa(0.95) < 0


def test_derived_first_and_averaged_afterwards() -> None:
    cycle = np.sin(np.arange(288) * 2 * np.pi / 5)
    own = felt(2, warm=12 + 2.5 * cycle, damp=84 - 10 * cycle).mean_pull_pa(ACTIVITY)
    from_means = (ACTIVITY - 0.84) * float(saturation_pressure_pa(12.0))
    assert own > 1.03 * from_means


def test_unknown_time_widens_and_is_never_nothing() -> None:
    damp = np.full(576, 85.0)
    damp[288:] = np.nan
    whole, half = felt(4), felt(4, damp=damp)
    assert half.known_share == pytest.approx(0.5)
    assert half.mean_pull_pa(ACTIVITY) == pytest.approx(whole.mean_pull_pa(ACTIVITY), rel=1e-6)
    assert half.doubt_pa_s.sum() > 1.5 * whole.doubt_pa_s.sum()
    assert half.doubt_pa_s[GUESSED].sum() > half.doubt_pa_s[MEASURED].sum() > 0


def test_assumed_air_is_a_guess_and_not_known() -> None:
    guessed = felt(2, u=8.0, origin=Origin.ASSUMED)
    assert guessed.known_share == 0
    assert guessed.doubt_pa_s[GUESSED].sum() == pytest.approx(0.08 * guessed.full_pa_s.sum(), rel=1e-6)


def test_with_no_air_at_all_a_wide_guess_stands_in() -> None:
    nothing = exposed(Air(np.array([], dtype=np.int64), *(air(0).temperature_c,) * 2), (), FROM_MS, at(2))
    assert nothing.known_share == 0
    assert nothing.mean_pull_pa(ACTIVITY) > 0
    assert nothing.doubt_pa_s[GUESSED].sum() >= 0.0799 * nothing.full_pa_s.sum()


def test_each_home_has_the_error_of_its_own_probe() -> None:
    own = exposed(air(4), (), FROM_MS, at(4), [Home(FROM_MS, 0), Home(at(1), 1)])
    first, second = own.doubt_pa_s[MEASURED].sum(), own.doubt_pa_s[MEASURED + 1].sum()
    assert second == pytest.approx(3 * first, rel=1e-6)


def test_a_covering_cuts_the_day_it_was_put_on() -> None:
    own = felt(3, (Under(at(1.5), "waxed_paper"),))
    assert list(own.lets_through) == [1.0, 1.0, 0.25, 0.25]
    assert own.under([Under(at(1), "wax")]).lets_through[-1] == 0.02


def test_parts_of_time_join() -> None:
    whole, damper = felt(4), felt(4, damp=90.0)
    early = exposed(air(4), (), FROM_MS, at(2))
    late = exposed(air(4), (), at(2), at(4))
    assert early.then(late).full_pa_s.sum() == pytest.approx(whole.full_pa_s.sum())
    with pytest.raises(ValueError, match="must begin at"):
        early.then(damper)
    with pytest.raises(ValueError, match="after from_ms"):
        exposed(air(4), (), FROM_MS, FROM_MS)


def cycling(at_ms: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """A fridge whose cooler runs each 47 minutes: degC and %."""
    turn = np.sin(2 * np.pi * (at_ms - FROM_MS) / (47 * 60_000))
    return 12 + 1.2 * turn, 83 - 5 * turn


def taken(pace: str) -> np.ndarray:
    """When a probe reports, by its way."""
    span_s = 86_400
    if pace == "each 10 s":
        steps = np.arange(0, span_s, 10)
    elif pace == "each 5 min":
        steps = np.arange(0, span_s, 300)
    elif pace == "uneven":
        steps = np.cumsum(np.random.default_rng(5).exponential(60, 3 * span_s // 60) + 1)
    else:
        fine = np.arange(0, span_s, 10)
        _, damp = cycling(FROM_MS + fine * 1000)
        shown = np.round(damp / 0.5)
        steps = fine[np.flatnonzero(np.diff(shown, prepend=-1))]
    return FROM_MS + 1000 * np.round(steps[steps < span_s]).astype(np.int64)


def reported(at_ms: int, warm: float, damp: float) -> Arrival:
    samples = (
        Sample("temperature", at_ms, warm, "Cel", "temperature", Mark.NONE),
        Sample("humidity", at_ms, damp, "%RH", "humidity", Mark.NONE),
    )
    return Arrival("p", "rindwatch/p/readings", at_ms, samples)


@pytest.fixture
def pulls(tmp_path: Path) -> dict[str, float]:
    """The mean driving pressure that the same air gives when it is reported in different ways, through the store."""
    found = {}
    for pace in ("each 10 s", "each 5 min", "uneven", "on change"):
        path = tmp_path / f"{pace.replace(' ', '')}.sqlite3"
        store = SqliteReadings(path)
        moments = taken(pace)
        warm, damp = cycling(moments)
        store.add([reported(int(ms), float(t), float(h)) for ms, t, h in zip(moments, warm, damp, strict=True)])
        while follow(store):
            pass
        store.close()
        readings = Readings(path)
        facts = Facts({"c": Place("c", "Cave", "cave")}, placements={("p", None): [_placed()]})
        own = AirReader(readings.db, facts).air("c", FROM_MS, at(1))
        found[pace] = exposed(own, (), FROM_MS + DAY_MS // 10, at(0.9)).mean_pull_pa(ACTIVITY)
        readings.close()
    return found


def _placed() -> Placement:
    long_ago = from_ms(FROM_MS - DAY_MS)
    return Placement("1", long_ago, long_ago, "p", "air", "c")


def test_the_same_air_pulls_the_same_however_it_was_reported(pulls: dict[str, float]) -> None:
    fine = FROM_MS + DAY_MS // 10 + np.arange(0, int(0.8 * 86_400), 10) * 1000
    warm, damp = cycling(fine)
    true = float(np.mean((ACTIVITY - damp / 100) * saturation_pressure_pa(warm)))
    for pace, pull in pulls.items():
        assert pull == pytest.approx(true, rel=0.01), pace
