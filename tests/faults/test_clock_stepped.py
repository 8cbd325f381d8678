"""The machine's clock is set while messages come: nothing is lost, and what tells its own time keeps it."""

from datetime import timedelta

import pytest

from tests.brokers import Broker
from tests.faults.clock_set import clock_set
from tests.faults.outcome import table

STEPS = [timedelta(hours=-3), timedelta(hours=-1), timedelta(hours=1), timedelta(hours=5), timedelta(minutes=-30)]


@pytest.mark.parametrize("step", STEPS)
def test_a_clock_that_is_set_loses_nothing(broker: Broker, step: timedelta) -> None:
    outcome = clock_set(broker, step)
    print(table([outcome]))
    assert (outcome.lost, outcome.doubled) == (0, 0)
