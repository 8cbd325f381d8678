"""When readings were taken: told, counted back, or the arrival; and what no clock can have said."""

from datetime import timedelta

import pytest

from collector.intake.payloads import UNTIMED, Decoded, ProbeStatus, WireReading, WireTime
from collector.intake.redelivery import digest
from collector.intake.timing import AHEAD_MS, EARLIEST_MS, Passage, arrival
from collector.readings.model import Mark
from tests.builders import START_MS

HOUR_MS = int(timedelta(hours=1).total_seconds() * 1_000)


def a_message(*times: WireTime, boot: str | None = None, seq: int | None = None) -> Decoded:
    readings = tuple(WireReading(f"f{i}", 12.5, "Cel", "temperature", time) for i, time in enumerate(times))
    return Decoded("cellar-1", readings, (), boot, seq, None, "senml_json")


def settled(*times: WireTime, **passage: object) -> list[tuple[int, Mark]]:
    found = arrival(a_message(*times), Passage("t", START_MS, **passage))  # type: ignore[arg-type]
    return [(sample.taken_ms, sample.mark) for sample in found.samples]


def test_a_probe_with_a_clock_says_when_it_measured() -> None:
    assert settled(WireTime.absolute(START_MS - HOUR_MS)) == [(START_MS - HOUR_MS, Mark.NONE)]


def test_an_age_is_counted_back_from_the_arrival() -> None:
    assert settled(WireTime.relative(-5_000)) == [(START_MS - 5_000, Mark.NONE)]


def test_a_message_without_a_time_was_measured_as_it_arrived() -> None:
    assert settled(UNTIMED) == [(START_MS, Mark.TIME_OF_ARRIVAL)]


def test_what_queued_without_a_clock_is_marked_at_the_latest() -> None:
    found = settled(WireTime.relative(-5_000), UNTIMED, WireTime.absolute(START_MS), queued=True)
    assert [mark for _, mark in found] == [
        Mark.AT_THE_LATEST,
        Mark.TIME_OF_ARRIVAL | Mark.AT_THE_LATEST,
        Mark.NONE,
    ]


def test_a_retained_message_without_a_clock_is_no_new_reading() -> None:
    found = settled(UNTIMED, WireTime.relative(-9), WireTime.absolute(START_MS), retained=True)
    assert found == [(START_MS, Mark.NONE)]


@pytest.mark.parametrize(
    ("taken_ms", "reason"),
    [
        (EARLIEST_MS - 1, "taken 1999-12-31 23:59 UTC, before 2000: the probe's clock is not set"),
        (0, "taken 1970-01-01 00:00 UTC, before 2000"),
        (START_MS + AHEAD_MS + 60_000, "11 min after it arrived: the clock is ahead"),
        (10**17, "100000000000000000 ms after 1970"),
    ],
)
def test_a_clock_astray_is_set_aside_with_its_reason(taken_ms: int, reason: str) -> None:
    found = arrival(a_message(WireTime.absolute(taken_ms)), Passage("t", START_MS))
    assert found.samples == ()
    assert reason in found.refused[0][1]


@pytest.mark.parametrize("taken_ms", [EARLIEST_MS, START_MS + AHEAD_MS])
def test_both_ends_of_what_is_believed_are_kept(taken_ms: int) -> None:
    assert settled(WireTime.absolute(taken_ms)) == [(taken_ms, Mark.NONE)]


def test_only_what_the_store_cannot_know_again_is_remembered_in_flight() -> None:
    passage = Passage("t", START_MS, payload=b"12.5", acknowledged=True)
    assert arrival(a_message(UNTIMED), passage).flight == digest(b"12.5")
    assert arrival(a_message(WireTime.absolute(START_MS)), passage).flight is None
    assert arrival(a_message(WireTime.relative(-1), boot="b", seq=1), passage).flight is None


def test_a_status_tells_what_a_probe_promises() -> None:
    status = ProbeStatus("online", "1.2", 60.0, "b7", 900.0)
    found = arrival(Decoded("p", (), (), "b7", None, status, "status"), Passage("t", START_MS))
    assert found.state is not None
    assert (found.state.state, found.state.at_latest_every_s) == ("online", 900.0)
    assert '"version": "1.2"' in found.state.facts


def test_what_a_probe_finds_wrong_with_itself_is_kept() -> None:
    status = ProbeStatus("online", fault="sht: no answer", refused=3, dropped=9)
    found = arrival(Decoded("p", (), (), None, None, status, "status"), Passage("t", START_MS))
    assert found.state is not None
    assert '"fault": "sht: no answer", "refused": 3, "dropped": 9' in found.state.facts
