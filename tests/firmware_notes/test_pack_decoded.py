"""What the node program encodes, read by the collector's own decoder."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.intake.payloads import Decoded, decode
from firmware_notes.node import pack
from firmware_notes.node import settings as delivered
from firmware_notes.node.main import Probe
from tests.firmware_notes.node.fakes import FakeAir, FakeBoard
from tests.firmware_notes.node.test_main import Settings

PROBE = "lower-fridge"
TOPIC = f"rindwatch/{PROBE}/readings"
BOOT = 0x5F3A09C1
NOON = 1_790_000_000  # an invented moment

# Limits in steps: what the sensors can say, by their data sheets; a shelf of -10 to 2000 kg is our choice.
RANGES = {
    pack.TEMPERATURE: (-4000, 12500),
    pack.HUMIDITY: (0, 10000),
    pack.SURFACE_TEMPERATURE: (-550000, 1250000),
    pack.WEIGHT: (-10000, 2000000),
    pack.DOOR: (0, 1),
    pack.BATTERY: (0, 100),
    pack.BATTERY_VOLTAGE: (0, 6600),
    pack.SIGNAL: (-120, 0),
}


@st.composite
def records(draw: Any) -> list[tuple[int, int]]:
    quantities = draw(st.lists(st.sampled_from(sorted(RANGES)), min_size=1, unique=True))
    return [(quantity, draw(st.integers(*RANGES[quantity]))) for quantity in quantities]


def read(text: str) -> Decoded:
    return decode(TOPIC, text.encode())


def test_every_quantity_has_a_range_here() -> None:
    assert sorted(RANGES) == list(range(len(pack.QUANTITIES)))


@given(records(), st.integers(1, 2**32 - 1), st.integers(1_735_689_600, 4_102_444_800))
def test_an_absolute_pack_is_understood_exactly(sent: list[tuple[int, int]], seq: int, taken_at: int) -> None:
    decoded = read(pack.senml(PROBE, BOOT, seq, sent, taken_at))
    assert decoded.refused == ()
    assert (decoded.probe, decoded.boot, decoded.seq) == (PROBE, "5f3a09c1", seq)
    for reading, (quantity, steps) in zip(decoded.readings, sent, strict=True):
        name, unit, decimals = pack.QUANTITIES[quantity]
        assert (reading.field, reading.quantity, reading.unit) == (name, name, unit or "open")
        assert reading.value == pytest.approx(steps / 10**decimals, abs=1e-9)
        assert (reading.time.absolute_ms, reading.time.relative_ms) == (taken_at * 1000, None)


@given(records(), st.integers(0, 10_000_000))
def test_a_relative_pack_is_understood_as_so_long_ago(sent: list[tuple[int, int]], age_s: int) -> None:
    decoded = read(pack.senml(PROBE, BOOT, 1, sent, None, age_s))
    assert decoded.refused == ()
    assert len(decoded.readings) == len(sent)
    for reading in decoded.readings:
        assert reading.time.absolute_ms is None
        assert (reading.time.relative_ms or 0) == -age_s * 1000


def test_a_bound_is_understood_too() -> None:
    decoded = read(pack.senml(PROBE, BOOT, 1, [(pack.TEMPERATURE, 1199)], NOON, 0, True))
    assert decoded.refused == ()
    assert decoded.at_the_latest
    assert [reading.field for reading in decoded.readings] == ["temperature"]
    assert not read(pack.senml(PROBE, BOOT, 1, [(pack.TEMPERATURE, 1199)], NOON)).at_the_latest


class StubbornFailure(Exception):
    """Stands for the node's own fault class where no fault is meant to come."""


def test_the_status_is_understood(tmp_path: Any) -> None:
    settings = Settings(str(tmp_path))
    board = FakeBoard(StubbornFailure, FakeAir())
    board.settings = settings
    Probe(board, settings).round()
    topic, text, _ = board.published[0]
    decoded = decode(topic, text.encode())
    assert decoded.refused == ()
    assert decoded.status is not None
    assert (decoded.status.state, decoded.status.version) == ("online", "1.0")
    assert decoded.status.at_latest_every_s == delivered.INTERVAL_S + 60
    will_topic, will = board.wills[0]
    assert decode(will_topic, will.encode()).status.state == "offline"  # type: ignore[union-attr]
