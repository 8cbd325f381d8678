"""Where single readings are gone, what rules said of probes stands, and a place is judged anew by its means."""

from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest

from collector.air.read import AirReader
from collector.readings.model import Arrival
from collector.readings.reader import channels
from collector.readings.retention import thin_out
from collector.records.columns import new_id
from collector.records.engine import reading
from collector.records.facts import Calibration
from collector.records.places import load_facts
from collector.replaying import _rules
from dashboard.charts.raw_lines import raw_lines
from dashboard.charts.spans import Window, linked
from tests.builders import a_sample, an_arrival, at, ms
from tests.collector.cave import LONG_BEFORE, Cave

DAYS, EVERY_MIN = 45, 10
CUT_D = 8
STEPS = 1_440 // EVERY_MIN


def lived() -> list[Arrival]:
    """A humidity that no air has on the first day, a dry spell on the fourth, then weeks of good air."""
    rng = np.random.default_rng(7)
    found = []
    for i in range(DAYS * STEPS):
        day = i / STEPS
        humidity = 150.0 if 0.3 <= day < 0.6 else (70.0 if 4 <= day < 4.5 else 87.0) + float(rng.normal(0, 0.2))
        temperature = 12.0 + float(rng.normal(0, 0.05))
        minute = i * EVERY_MIN
        samples = a_sample(minute, round(temperature, 2)), a_sample(minute, round(humidity, 2), "humidity", "%RH")
        found.append(an_arrival(*samples))
    return found


@pytest.fixture
def both(tmp_path: Path) -> tuple[Cave, Cave]:
    """The same life twice; in the second cave the readings of the first days are gone."""
    caves = []
    for name in ("whole", "thinned"):
        (tmp_path / name).mkdir()
        cave = Cave(tmp_path / name)
        cave.clock.set(at(DAYS * 1_440))
        cave.take(lived())
        caves.append(cave)
    whole, thinned = caves
    while thin_out(thinned.store, ms(CUT_D * 1_440), 10**9):
        pass
    return whole, thinned


def test_facts_from_before_change_the_same_with_and_without_single_readings(both: tuple[Cave, Cave]) -> None:
    whole, thinned = both
    rules = {rule for rule, *_ in whole.spells()}
    assert {"impossible", "too_dry"} <= rules, rules
    for cave in both:
        cave.add(cave.a_target(temperature_high_c=11.5, humidity_low_pct=60.0, valid_from_at=LONG_BEFORE))
        cave.add(Calibration(new_id(), LONG_BEFORE, LONG_BEFORE, "cellar-1", "humidity", 0.5, 1.0, 1.0, "salt"))
        while cave.watch.step().outcomes:
            pass
    assert "too_warm" in {rule for rule, *_ in whole.spells()}
    assert thinned.spells() == whole.spells()
    for cave in both:
        cave.close()


def test_a_short_chart_of_then_is_drawn_by_means_and_replay_says_what_it_cannot_ask(both: tuple[Cave, Cave]) -> None:
    whole, thinned = both
    shown: Window = linked(ms(1_440), ms(1_440 + 360), ms(DAYS * 1_440))
    lines = {}
    for name, cave in (("whole", whole), ("thinned", thinned)):
        with reading(cave.records) as connection:
            reader = AirReader(cave.readings, load_facts(connection), {}, channels(cave.readings))
        lines[name] = raw_lines(reader, cave.place_id, shown)
        air = reader.air(cave.place_id, shown.from_ms, shown.to_ms)
        assert np.isfinite(air.temperature_c.mean).all()
    assert lines["whole"]
    assert lines["thinned"] is None
    rules, note = _rules(thinned.readings, ms(2 * 1_440))
    assert "cooler_changed" not in {rule.name for rule in rules}
    assert "only ten-minute means are kept" in note[0]
    assert _rules(whole.readings, ms(2 * 1_440))[1] == []
    assert _rules(thinned.readings, ms(2 * 1_440) + timedelta(days=60) // timedelta(milliseconds=1))[1] == []
    for cave in both:
        cave.close()
