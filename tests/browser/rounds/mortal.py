"""A dashboard process that is killed and comes back at the same address."""

import os
import signal
import socket
import subprocess
import sys

from collector.settings import Settings
from tests.browser.walking import HOST, WAIT_S


def free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


class Mortal:
    """The real process on ports of its own, over data that outlives it."""

    def __init__(self, settings: Settings) -> None:
        self.settings = settings
        self.ports = free_port(), free_port()
        self.process: subprocess.Popen[str] | None = None
        self.kills = 0

    @property
    def http(self) -> str:
        return f"http://{HOST}:{self.ports[0]}"

    @property
    def https(self) -> str:
        return f"https://{HOST}:{self.ports[1]}"

    def start(self) -> None:
        """Start it, and wait until both doors are open."""
        if self.process is not None:
            return
        environment = os.environ | {
            "RINDWATCH_DATA": str(self.settings.data), "RINDWATCH_LISTEN": "127.0.0.1",
            "RINDWATCH_HTTP_PORT": str(self.ports[0]), "RINDWATCH_HTTPS_PORT": str(self.ports[1]),
            "RINDWATCH_TRUSTED_HOSTS": HOST,
        }  # fmt: skip
        command = [sys.executable, "-m", "dashboard"]
        self.process = subprocess.Popen(command, env=environment, stdout=subprocess.PIPE, text=True)
        assert self.process.stdout is not None
        for line in self.process.stdout:
            if "over https at" in line:
                return
        raise AssertionError(f"the server ended with {self.process.wait()}")

    def kill(self) -> None:
        """SIGKILL, as a power cut would: nothing is finished, nothing is said."""
        if self.process is not None:
            self.process.kill()
            self._ended()
            self.kills += 1

    def stop(self) -> None:
        if self.process is not None:
            self.process.send_signal(signal.SIGTERM)
            assert self._ended() == 0

    def _ended(self) -> int:
        assert self.process is not None
        code = self.process.wait(WAIT_S)
        if self.process.stdout is not None:
            self.process.stdout.close()
        self.process = None
        return code
