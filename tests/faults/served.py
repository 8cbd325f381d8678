"""`rindwatch serve` as a process of its own, on free ports of this machine alone."""

import os
import subprocess
import sys
from pathlib import Path

from tests.brokers import answers, free_port


class Served:
    """`rindwatch serve` on free ports of this machine alone."""

    def __init__(self, folder: Path, program: str = "collector.cli") -> None:
        self.mqtt, self.http, self.folder = free_port(), free_port(), folder
        environment = os.environ | {
            "RINDWATCH_DATA": str(folder),
            "RINDWATCH_LISTEN": "127.0.0.1",
            "RINDWATCH_MQTT_PORT": str(self.mqtt),
            "RINDWATCH_HTTP_PORT": str(self.http),
        }
        self.log = folder / "serve.log"
        self._environment, self._program = environment, program
        self.start()

    def start(self) -> None:
        with self.log.open("ab") as log:
            command = [sys.executable, "-m", self._program, "serve"]
            self.process = subprocess.Popen(command, env=self._environment, stdout=log, stderr=log)

    def end(self) -> None:
        """End it in order; nothing of it is left behind."""
        self.process.terminate()
        self.process.wait(30)

    def up(self) -> bool:
        return answers(self.mqtt) and answers(self.http)

    def part(self, name: str) -> int | None:
        """The process of a part that runs now."""
        lines = [line for line in self.log.read_text().splitlines() if f"part_started name={name} " in line]
        number = int(lines[-1].rsplit("pid=", 1)[1]) if lines else None
        return number if number is not None and alive(number) else None


def alive(number: int) -> bool:
    """Whether a process runs; it may end between any two looks at it."""
    try:
        return Path(f"/proc/{number}/stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"
    except (FileNotFoundError, ProcessLookupError):
        return False
