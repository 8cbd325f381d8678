"""One small supervisor: starts the parts as processes, and starts again what has ended."""

import logging
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from threading import Event

log = logging.getLogger(__name__)

SUPERVISOR = "RINDWATCH_SUPERVISOR"  # tells a part the process that looks after it
LONGEST_WAIT_S = 30.0
STEADY_S = 60.0  # a part that ran so long is started again at once
GOODBYE_S = 10.0


@dataclass
class Part:
    """A process that should always run.

    Args:
        name: for the log. command: arguments after the Python interpreter. environment: beside our own.
        quiet: what it prints is thrown away; its log is not.
    """

    name: str
    command: Sequence[str]
    environment: Mapping[str, str] = field(default_factory=dict)
    quiet: bool = False
    process: subprocess.Popen[bytes] | None = None
    started: float = 0.0
    failures: int = 0
    again_at: float = 0.0

    def start(self) -> None:
        self.started = time.monotonic()
        environment = os.environ | dict(self.environment) | {SUPERVISOR: str(os.getpid())}
        printed = subprocess.DEVNULL if self.quiet else None
        self.process = subprocess.Popen([sys.executable, *self.command], env=environment, stdout=printed)
        log.info("part_started name=%s pid=%d", self.name, self.process.pid)

    def look_after(self) -> None:
        """Start again a part that has ended, with growing waits while it keeps ending."""
        now = time.monotonic()
        if self.process is not None and self.process.poll() is not None:
            log.warning("part_ended name=%s code=%s", self.name, self.process.returncode)
            self.failures = 0 if now - self.started > STEADY_S else self.failures + 1
            self.again_at = now + min(LONGEST_WAIT_S, 0.5 * 2 ** max(0, self.failures - 1))
            self.process = None
        if self.process is None and now >= self.again_at:
            self.start()

    def stop(self) -> None:
        if self.process is not None and self.process.poll() is None:
            self.process.terminate()

    def wait(self, deadline: float) -> None:
        if self.process is None:
            return
        try:
            self.process.wait(max(0.1, deadline - time.monotonic()))
        except subprocess.TimeoutExpired:
            log.warning("part_killed name=%s", self.name)
            self.process.kill()
            self.process.wait()


def supervise(parts: Sequence[Part], stop: Event) -> None:
    """Keep the parts running until told to stop; then end them, last started first."""
    with running(parts):
        while not stop.is_set():
            for part in parts:
                part.look_after()
            stop.wait(0.2)


@contextmanager
def running(parts: Sequence[Part]) -> Iterator[None]:
    """Start what does not run yet; at the end, whatever ended it, end all, last started first."""
    try:
        for part in parts:
            part.look_after()
        yield
    finally:
        deadline = time.monotonic() + GOODBYE_S
        for part in reversed(parts):
            part.stop()
        for part in parts:
            part.wait(deadline)


def stop_on_signals() -> Event:
    """An event that SIGTERM and SIGINT set."""
    stop = Event()

    def ask(_number: int, _frame: object) -> None:
        # The main thread may stand inside the very lock that `set` needs; another thread can wait for it.
        threading.Thread(target=stop.set, name="stop").start()

    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, ask)
    return stop


def end_with_supervisor(stop: Event) -> None:
    """In a part: stop when the supervisor has gone, so that none is left behind holding a port."""
    expected = os.environ.get(SUPERVISOR)
    if expected is None:
        return

    def look() -> None:
        while not stop.wait(1.0):
            if os.getppid() != int(expected):
                os.kill(os.getpid(), signal.SIGTERM)
                return

    threading.Thread(target=look, name="supervisor", daemon=True).start()
