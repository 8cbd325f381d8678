"""Duties that come round every few seconds, by a clock that is never set.

A wall-clock scheduler stands still for hours when the clock is put back; these go by the monotonic clock.
"""

import logging
import sqlite3
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from threading import Event

from sqlalchemy.exc import SQLAlchemyError

from collector.database_code import database_code
from collector.errors import CaveError

log = logging.getLogger(__name__)


@dataclass
class Duty:
    """Something to be done again and again.

    Args:
        name: for the log. run: does it; returns True when there is more to do at once.
        every_s: how often at most. share: the part of the time that it may take, so that a long piece of work
            leaves room for the others.
    """

    name: str
    run: Callable[[], object]
    every_s: float
    share: float = 0.5
    due: float = 0.0

    def perform(self) -> None:
        """Run once; trouble of the world is logged and tried again, a fault of ours too: the others go on."""
        began = time.monotonic()
        more: object = False
        try:
            more = self.run()
        except (CaveError, SQLAlchemyError, sqlite3.Error) as trouble:
            log.warning("duty_failed name=%s code=%s reason=%s", self.name, database_code(trouble), trouble)
        except Exception:  # the top of a task
            log.exception("duty_broke name=%s", self.name)
        took = time.monotonic() - began
        pause = 0.0 if more is True else self.every_s
        self.due = time.monotonic() + max(pause, took * (1 / self.share - 1))


def perform_all(duties: Sequence[Duty], stop: Event) -> None:
    """Perform each duty when it is due until told to stop."""
    while not stop.is_set():
        for duty in duties:
            if time.monotonic() >= duty.due and not stop.is_set():
                duty.perform()
        pause = min(duty.due for duty in duties) - time.monotonic()
        stop.wait(min(max(pause, 0.01), 1.0))
