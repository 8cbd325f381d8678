"""Judging the past again: as it was it says what the watch said, under another target what that would have said."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from collector.air.read import AirReader
from collector.records.columns import to_ms
from collector.records.engine import reading
from collector.records.places import load_facts
from collector.replay import lasted_ms, what_if
from collector.rules.model import Verdict
from collector.rules.place_rules import PLACE_RULES
from tests.builders import START_MS, a_sample, an_arrival, ms
from tests.collector.cave import Cave

HOUR_MS = 3_600_000
AN_HOUR = 6  # messages
COURSE = [
    *[87.0] * (24 * AN_HOUR), *[70.0] * (10 * AN_HOUR), *[87.0] * (24 * AN_HOUR), *[79.5] * (9 * AN_HOUR),
    *[87.0] * (5 * AN_HOUR),
]  # fmt: skip
END_MS = ms(len(COURSE) * 10)


@pytest.fixture
def cave(tmp_path: Path) -> Iterator[Cave]:
    """Three days of a cave that was dry for ten hours, and a little dry for nine."""
    cave = Cave(tmp_path)
    rng = np.random.default_rng(5)
    cave.take(
        [
            an_arrival(
                a_sample(i * 10, round(12 + float(rng.normal(0, 0.02)), 2)),
                a_sample(i * 10, round(rh + float(rng.normal(0, 0.1)), 2), "humidity", "%RH"),
            )
            for i, rh in enumerate(COURSE)
        ]
    )
    yield cave
    cave.close()


@pytest.fixture
def reader(cave: Cave) -> AirReader:
    with reading(cave.records) as connection:
        return AirReader(cave.readings, load_facts(connection))


def test_as_it_was_it_says_what_the_watch_said(cave: Cave, reader: AirReader) -> None:
    found = what_if(reader, cave.place_id, None, START_MS, END_MS)
    assert set(found) == set(PLACE_RULES)
    said = [(w.rule, to_ms(w.opened_at), w.cleared_at and to_ms(w.cleared_at)) for w in reversed(cave.warnings())]
    assert len(said) == 2
    assert [(v.rule, v.opened_ms, v.cleared_ms) for v in found["too_dry"]] == said
    assert sum(len(verdicts) for verdicts in found.values()) == 2


def test_a_lower_limit_raises_only_what_lies_below_it(cave: Cave, reader: AirReader) -> None:
    found = what_if(reader, cave.place_id, cave.a_target(humidity_low_pct=78.0), START_MS, END_MS)
    assert [_hour(v.opened_ms) for v in found["too_dry"]] == [_hour(_dry(reader, cave)[0].opened_ms)]


def test_a_longer_grace_waits_for_the_longer_spell(cave: Cave, reader: AirReader) -> None:
    """Ten hours fill a grace of nine and a half, nine do not."""
    found = what_if(reader, cave.place_id, cave.a_target(grace_min=570), START_MS, END_MS)
    assert len(found["too_dry"]) == 1


def test_a_resting_place_raises_nothing(cave: Cave, reader: AirReader) -> None:
    found = what_if(reader, cave.place_id, cave.a_target(resting=True), START_MS, END_MS)
    assert [verdicts for verdicts in found.values() if verdicts] == []


def test_a_target_that_began_yesterday_is_tried_on_all_of_the_span(cave: Cave, reader: AirReader) -> None:
    """A change is given time to take effect; a trial asks what would have been had it always held."""
    tight = cave.a_target(humidity_low_pct=88.0, valid_from_at=cave.clock.now())
    found = what_if(reader, cave.place_id, tight, START_MS, END_MS)
    assert _hour(found["too_dry"][0].opened_ms) <= _hour(START_MS) + 2


def test_a_spell_that_was_open_at_the_start_is_met_where_it_began(cave: Cave, reader: AirReader) -> None:
    whole = _dry(reader, cave)[0]
    inside = (whole.opened_ms + (whole.cleared_ms or 0)) // 2
    found = what_if(reader, cave.place_id, None, inside, END_MS)["too_dry"]
    assert (found[0].opened_ms, found[0].cleared_ms) == (whole.opened_ms, whole.cleared_ms)


def test_what_was_over_before_the_span_is_left_out(cave: Cave, reader: AirReader) -> None:
    whole = _dry(reader, cave)[0]
    assert len(what_if(reader, cave.place_id, None, (whole.cleared_ms or 0) + HOUR_MS, END_MS)["too_dry"]) == 1


def test_nothing_is_written(cave: Cave, reader: AirReader) -> None:
    before = cave.spells()
    what_if(reader, cave.place_id, cave.a_target(humidity_low_pct=60.0), START_MS, END_MS)
    assert cave.spells() == before


def test_an_unknown_place_is_no_place(cave: Cave, reader: AirReader) -> None:
    with pytest.raises(KeyError):
        what_if(reader, "nowhere", None, START_MS, END_MS)


def test_a_spell_lasts_from_where_it_counted() -> None:
    assert lasted_ms(Verdict("r", 10 * HOUR_MS, 14 * HOUR_MS, {"since_ms": 8 * HOUR_MS}), 99 * HOUR_MS) == 6 * HOUR_MS
    assert lasted_ms(Verdict("r", 10 * HOUR_MS, None), 12 * HOUR_MS) == 2 * HOUR_MS


def _dry(reader: AirReader, cave: Cave) -> list[Verdict]:
    return what_if(reader, cave.place_id, None, START_MS, END_MS)["too_dry"]


def _hour(at_ms: int) -> int:
    return at_ms // HOUR_MS
