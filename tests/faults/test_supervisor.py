"""The supervisor: any part killed comes back, none is left behind, and it ends when asked, however often."""

import os
import signal
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.brokers import wait_for
from tests.faults.served import Served, alive

pytestmark = pytest.mark.timeout(180)


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    served = Served(tmp_path)
    wait_for(served.up, 120, "everything up")
    yield served
    served.process.kill()
    served.process.wait()


@pytest.mark.parametrize("name", ["broker", "collector", "dashboard"])
def test_a_killed_part_comes_back_and_the_others_go_on(served: Served, name: str) -> None:
    wait_for(lambda: all(served.part(n) for n in ("broker", "collector", "dashboard")), 30)
    before = {n: served.part(n) for n in ("broker", "collector", "dashboard")}
    os.kill(before[name] or 0, signal.SIGKILL)
    wait_for(lambda: served.part(name) not in (None, before[name]), 30, f"{name} back")
    wait_for(served.up, 30, "everything up again")
    assert {n: served.part(n) for n in before if n != name} == {n: p for n, p in before.items() if n != name}


def test_parts_end_when_their_supervisor_is_killed(served: Served) -> None:
    wait_for(lambda: all(served.part(name) for name in ("broker", "collector", "dashboard")), 30, "every part there")
    parts = [served.part(name) for name in ("broker", "collector", "dashboard")]
    served.process.kill()
    served.process.wait()
    wait_for(lambda: not any(alive(p) for p in parts if p), 30, "no part left behind")


def test_it_ends_in_order_however_often_it_is_asked(served: Served) -> None:
    parts = [served.part(name) for name in ("broker", "collector", "dashboard")]
    for _ in range(20):
        served.process.send_signal(signal.SIGTERM)
        time.sleep(0.01)
    assert served.process.wait(30) == 0
    assert not any(alive(p) for p in parts if p)
