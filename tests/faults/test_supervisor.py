"""The supervisor: a part killed comes back, and it ends when asked, however often. More: `test_serve_killed.py`."""

import os
import signal
import time
from pathlib import Path

import pytest

from tests.brokers import wait_for
from tests.faults.served import Served, alive

pytestmark = pytest.mark.timeout(180)


def test_a_killed_part_comes_back_and_it_ends_in_order_however_often_it_is_asked(tmp_path: Path) -> None:
    served = Served(tmp_path)
    try:
        wait_for(served.up, 120, "everything up")
        before = served.part("dashboard")
        os.kill(before or 0, signal.SIGKILL)
        wait_for(lambda: served.part("dashboard") not in (None, before), 30, "the dashboard back")
        wait_for(served.up, 60, "everything up again")
        parts = [served.part(name) for name in ("broker", "collector", "dashboard")]
        for _ in range(20):
            served.process.send_signal(signal.SIGTERM)
            time.sleep(0.01)
        assert served.process.wait(30) == 0
        assert not any(alive(part) for part in parts if part)
    finally:
        served.process.kill()
        served.process.wait()
