"""Whatever of `rindwatch serve` is killed: nothing stored is lost, nothing is stored twice, and it comes back."""

import os
from pathlib import Path

import pytest

from tests.brokers import need_mosquitto
from tests.faults.outcome import held
from tests.faults.serve_killed import everything_killed, mosquitto_killed, parts_killed

pytestmark = pytest.mark.timeout(900)
ROUNDS = int(os.environ.get("RINDWATCH_TEST_KILLS", "5"))


def test_any_part_killed_costs_no_reading(tmp_path: Path) -> None:
    held(*parts_killed(tmp_path, ROUNDS))


def test_the_supervisor_or_everything_killed_costs_no_reading(tmp_path: Path) -> None:
    held(*everything_killed(tmp_path, ROUNDS))


def test_mosquitto_or_the_collector_beside_it_killed_costs_no_reading(tmp_path: Path) -> None:
    need_mosquitto()
    held(*mosquitto_killed(tmp_path, 1))  # five of the collector: test_collector_killed.py
