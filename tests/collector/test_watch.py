"""The watch: the same verdicts whatever the order of arrival; late readings, changed targets, doubtful probes."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from collector.readings.model import Arrival
from collector.records.columns import new_id, to_ms
from collector.records.facts import Calibration
from collector.records.warnings import mark_seen
from tests.builders import START_AT, a_sample, an_arrival, at
from tests.collector.cave import LONG_BEFORE, Cave


@pytest.fixture
def cave(tmp_path: Path) -> Iterator[Cave]:
    cave = Cave(tmp_path)
    yield cave
    cave.close()


def the_air(humidity: list[float], temperature: float = 12.0, every_min: int = 10) -> list[Arrival]:
    """Messages of a probe, ten minutes apart, with a grain of noise as real ones have."""
    rng = np.random.default_rng(3)
    return [
        an_arrival(
            a_sample(i * every_min, round(temperature + float(rng.normal(0, 0.02)), 2)),
            a_sample(i * every_min, round(rh + float(rng.normal(0, 0.1)), 2), "humidity", "%RH"),
        )
        for i, rh in enumerate(humidity)
    ]


GOOD, DRY = [87.0] * 36, [70.0] * 30
DRY_SPELL = [*GOOD, *DRY, *GOOD]


def opened(cave: Cave) -> list[tuple[str, bool]]:
    return [(w.rule, w.open) for w in cave.warnings()]


def test_air_in_its_band_opens_nothing(cave: Cave) -> None:
    cave.take(the_air(GOOD * 3))
    assert cave.warnings() == []


def test_a_dry_spell_is_one_warning_with_beginning_and_end(cave: Cave) -> None:
    cave.take(the_air(DRY_SPELL))
    (warning,) = cave.warnings()
    assert warning.rule == "too_dry"
    assert at(6 * 60) < warning.opened_at < at(6 * 60 + 150)
    assert warning.cleared_at is not None
    assert at(11 * 60) < warning.cleared_at < at(12 * 60 + 30)


def test_a_warning_is_open_while_the_air_is_dry(cave: Cave) -> None:
    cave.take(the_air([*GOOD, *DRY]))
    assert opened(cave) == [("too_dry", True)]
    (before,) = cave.warnings()
    cave.take(the_air(DRY_SPELL)[len(GOOD) + len(DRY) :])
    (after,) = cave.warnings()
    assert (after.id, after.opened_at, after.open) == (before.id, before.opened_at, False)


def test_only_what_changed_is_judged(cave: Cave) -> None:
    cave.take(the_air(DRY_SPELL))
    assert cave.watch.step().judged_places == 0


def test_a_late_reading_withdraws_what_it_disproves(cave: Cave) -> None:
    """The probe was silent while its last, dry value was held; what it kept says that the air was good again."""
    messages = the_air([*GOOD, *[70.0] * 9, *[87.0] * 40])
    cave.take(the_air([*GOOD, *[70.0] * 9, *[70.0] * 40]))
    assert opened(cave) == [("too_dry", True)]
    cave.take(messages[len(GOOD) :])
    assert all(not w.open for w in cave.warnings())


def test_late_readings_reopen_what_seemed_over_and_nobody_has_seen_that(cave: Cave) -> None:
    cave.take(the_air(DRY_SPELL))
    (before,) = cave.warnings()
    with cave.records.begin() as connection:
        mark_seen(connection, before.id, "Owner", cave.clock.now())
    from_end = len(GOOD) + len(DRY)
    (outcome,) = [o for o in cave.take(the_air([*GOOD, *DRY, *[70.0] * 36])[from_end:]).outcomes if o.reopened]
    (after,) = cave.warnings()
    assert (after.id, after.open, after.seen_at) == (before.id, True, None)
    assert [w.id for w in outcome.reopened] == [before.id]


def test_a_spell_found_long_after_it_began_is_marked_late(cave: Cave) -> None:
    cave.take(the_air(DRY_SPELL))
    assert [w.found_late for w in cave.warnings()] == [True]


def test_a_spell_found_in_time_is_not_late(cave: Cave) -> None:
    messages = the_air([*GOOD, *DRY])
    for i in range(0, len(messages), 3):
        cave.clock.set(messages[min(i + 3, len(messages)) - 1].samples[0].taken_ms and at(10 * (i + 3)))
        cave.take(messages[i : i + 3])
    assert [w.found_late for w in cave.warnings()] == [False]


def test_a_target_corrected_from_a_date_on_judges_the_span_again(cave: Cave) -> None:
    cave.take(the_air([87.0] * 300))
    assert cave.warnings() == []
    cave.add(cave.a_target(valid_from_at=START_AT, humidity_low_pct=90.0, humidity_high_pct=96.0))
    cave.watch.step()
    assert opened(cave) == [("too_dry", True)]


def test_a_resting_cave_warns_of_nothing(cave: Cave) -> None:
    cave.add(cave.a_target(valid_from_at=START_AT, resting=True))
    cave.take(the_air(DRY_SPELL))
    assert cave.warnings() == []


def test_a_calibration_made_today_mends_the_verdicts_of_before(cave: Cave) -> None:
    cave.take(the_air([*GOOD, *[79.0] * 60]))
    assert opened(cave) == [("too_dry", True)]
    cave.add(Calibration(new_id(), LONG_BEFORE, START_AT, "cellar-1", "humidity", 4.0, 1.0, 0.8, "one salt"))
    cave.watch.step()
    assert cave.warnings() == []


@pytest.mark.parametrize("at_a_time", [60, 7, 1])
def test_a_faulty_probe_is_found_however_few_readings_come_at_once(cave: Cave, at_a_time: int) -> None:
    broken = [an_arrival(a_sample(i * 3 + 1, -127.0 if i >= 30 else 12.0 + i % 7 / 100)) for i in range(60)]
    for i in range(0, len(broken), at_a_time):
        cave.take(broken[i : i + at_a_time])
    found = [(w.rule, w.opened_at, w.open) for w in cave.warnings()]
    assert found == [("impossible", at(90), True)]


def test_a_probe_taken_away_says_nothing_of_the_cave(cave: Cave) -> None:
    cave.add(cave.a_placement("cellar-1", valid_from_at=at(0), place_id=None))
    cave.take(the_air(DRY_SPELL))
    assert [w for w in cave.warnings() if w.place_id] == []


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_any_batching_and_order_of_arrival_ends_in_the_same_verdicts(
    data: st.DataObject, tmp_path_factory: pytest.TempPathFactory
) -> None:
    levels = data.draw(st.lists(st.sampled_from([70.0, 80.0, 86.0, 90.0, 97.0]), min_size=3, max_size=8))
    messages = the_air([level for level in levels for _ in range(data.draw(st.integers(3, 20)))])
    shuffled = data.draw(st.permutations(messages))
    cuts = sorted(data.draw(st.lists(st.integers(0, len(messages)), max_size=6)))
    at_once, piecemeal = Cave(tmp_path_factory.mktemp("once")), Cave(tmp_path_factory.mktemp("pieces"))
    at_once.take(messages)
    for start, end in zip([0, *cuts], [*cuts, len(messages)], strict=True):
        piecemeal.take(shuffled[start:end])
    expected, found = at_once.spells(), piecemeal.spells()
    at_once.close()
    piecemeal.close()
    assert found == expected


def test_the_watch_goes_on_where_it_was_after_a_restart(cave: Cave, tmp_path: Path) -> None:
    messages = the_air(DRY_SPELL)
    cave.take(messages[:50])
    again = type(cave.watch)(cave.readings, cave.records, cave.clock)
    cave.watch = again
    cave.take(messages[50:])
    whole = Cave(tmp_path / "whole") if (tmp_path / "whole").mkdir() is None else None
    assert whole is not None
    whole.take(messages)
    assert cave.spells() == whole.spells()
    whole.close()


def test_now_is_never_asked_of_the_clock(cave: Cave) -> None:
    """A clock gone astray changes when a warning was found, not what was found."""
    cave.clock.set(START_AT - timedelta(days=900))
    cave.take(the_air(DRY_SPELL))
    assert [(w.rule, w.open) for w in cave.warnings()] == [("too_dry", False)]
    assert to_ms(cave.warnings()[0].found_at) == to_ms(START_AT - timedelta(days=900))
