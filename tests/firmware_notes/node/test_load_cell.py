"""The HX711: bits in, grams out, and what is refused."""

from firmware_notes.node import load_cell
from firmware_notes.node.faults import SensorFault
from tests.firmware_notes.node.fakes import FakeAmplifier, refused


def no_wait(duration_ms):
    """Time does not matter to a fake amplifier."""


def read(counts, ready_after=0):
    amplifier = FakeAmplifier(counts & 0xFFFFFF, ready_after)
    cell = load_cell.LoadCell(amplifier.data, amplifier.clock, no_wait, 10000, 200000)
    return cell.read(), amplifier


def test_counts_become_grams():
    assert read(10000)[0] == 0
    assert read(10000 + 200000)[0] == 1000
    assert read(10000 - 200)[0] == -1


def test_the_amplifier_sleeps_between_readings():
    _, amplifier = read(10000)
    assert amplifier.level == 1  # HX711 data sheet, page 5: clock high for 60 us powers down.


def test_it_waits_until_the_amplifier_is_ready():
    assert read(210000, ready_after=7)[0] == 1000


def test_an_amplifier_that_never_answers_is_a_fault():
    assert "never ready" in refused(lambda: read(0, ready_after=10000), SensorFault)


def test_a_cell_at_its_limit_is_a_fault():
    for counts in (0x7FFFFF, 0x800000):
        assert "limit" in refused(lambda: read(counts), SensorFault)  # noqa: B023
