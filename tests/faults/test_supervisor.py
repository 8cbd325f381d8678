"""The supervisor: any part killed comes back, none is left behind, and it ends when asked, however often."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.brokers import answers, free_port, wait_for

pytestmark = pytest.mark.timeout(180)


class Served:
    """`rindwatch serve` on free ports of this machine alone."""

    def __init__(self, folder: Path) -> None:
        self.mqtt, self.http, self.folder = free_port(), free_port(), folder
        environment = os.environ | {
            "RINDWATCH_DATA": str(folder),
            "RINDWATCH_LISTEN": "127.0.0.1",
            "RINDWATCH_MQTT_PORT": str(self.mqtt),
            "RINDWATCH_HTTP_PORT": str(self.http),
        }
        self.log = folder / "serve.log"
        with self.log.open("wb") as log:
            command = [sys.executable, "-m", "collector.cli", "serve"]
            self.process = subprocess.Popen(command, env=environment, stdout=log, stderr=log)

    def up(self) -> bool:
        return answers(self.mqtt) and answers(self.http)

    def part(self, name: str) -> int | None:
        """The process of a part that runs now."""
        lines = [line for line in self.log.read_text().splitlines() if f"part_started name={name} " in line]
        number = int(lines[-1].rsplit("pid=", 1)[1]) if lines else None
        return number if number is not None and alive(number) else None


def alive(number: int) -> bool:
    try:
        os.kill(number, 0)
    except ProcessLookupError:
        return False
    return Path(f"/proc/{number}/stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"


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
