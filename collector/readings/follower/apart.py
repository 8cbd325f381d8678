"""The follower's process: reads the readings, sends them, and has the collector write down how far it is.

In a thread of the collector it took the interpreter's lock from the intake at each row that the intake stored, and cost
it up to a third of its pace. Here it may only take what the machine has to spare. The readings keep their one writer:
what is to be written is wished for on stdout and answered on stdin; the end of stdin is the end of the collector.
Run as `python -m collector.readings.follower.apart`; the first line names the file and the settings.
"""

import json
import os
import signal
import sys
import threading
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from queue import SimpleQueue
from threading import Event
from typing import Any, TextIO

from collector import logs
from collector.clock import SystemClock
from collector.readings.follower import wishes
from collector.readings.follower.follow import Follower
from collector.readings.follower.ledger import Ledger
from collector.readings.follower.server import InfluxServer
from collector.readings.follower.settings import FollowerSettings
from collector.readings.follower.spans import Owed, Span, Vanished
from collector.readings.follower.state import FollowerState
from collector.readings.schema import open_reader
from collector.settings import Settings

NICE = 15  # of 19: beside a busy collector it gets some 3 % of a core, on an idle machine all that it wants


class DistantWriter:
    """Has each thing written by the process at the other end, one after the other."""

    def __init__(self, to: TextIO, answers: "SimpleQueue[dict[str, Any]]") -> None:
        self._to, self._answers = to, answers

    def begin(self) -> None:
        self._ask({"do": "begin"})

    def moved(self, seq: int, owe: Sequence[Span]) -> None:
        self._ask(wishes.moved(seq, owe))

    def paid(self, owed: Owed, up_to_ms: int) -> None:
        self._ask(wishes.paid(owed, up_to_ms))

    def taken_back(self, gone: Sequence[Vanished]) -> None:
        self._ask(wishes.taken_back(gone))

    def set_aside(self, refused: Sequence[tuple[str, str]], at_ms: int) -> None:
        self._ask(wishes.set_aside(refused, at_ms))

    def tell(self, state: FollowerState) -> None:
        self._ask(wishes.told(state))

    def _ask(self, wish: dict[str, Any]) -> None:
        self._to.write(wishes.line_of(wish))
        self._to.flush()
        wishes.raise_trouble(self._answers.get())


def _listen(answers: "SimpleQueue[dict[str, Any]]") -> None:
    for line in sys.stdin:
        answers.put(json.loads(line))
    # The collector has ended. What is on its way is sent again at the next start; an answer is not waited for.
    os._exit(0)


def main() -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # a terminal tells everyone; the collector ends this one
    with suppress(AttributeError, OSError):
        os.nice(NICE)
    job = json.loads(sys.stdin.readline())
    own = Settings()
    logs.begin(own.log_level, own.log_format)
    answers: SimpleQueue[dict[str, Any]] = SimpleQueue()
    writer = DistantWriter(sys.stdout, answers)
    threading.Thread(target=_listen, args=(answers,), daemon=True).start()
    server = InfluxServer(FollowerSettings(**job["settings"]))
    ledger = Ledger(writer, open_reader(Path(job["readings"])))
    Follower(ledger, server, SystemClock(), tell=writer.tell).run(Event())


if __name__ == "__main__":
    main()
