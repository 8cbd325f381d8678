"""Work that comes round in the dashboard's process: it looks after the collector, which cannot say itself that it is
silent, and writes the line of each evening while somebody is away."""

import logging
import threading
from collections.abc import Callable

log = logging.getLogger(__name__)

EVERY_S = 30.0
GOODBYE_S = 2.0  # our choice: a message on its way may end; its row stays in the outbox when it does not


class CollectorWatching:
    """A thread that calls `step` at intervals until it is told to stop; a step that fails is logged and tried again.

    Args:
        step: looks once. every_s: the wait before each step.
    """

    def __init__(self, step: Callable[[], object], every_s: float = EVERY_S) -> None:
        self._step, self._every_s = step, every_s
        self._stopping = threading.Event()
        # A daemon, so that a message on its way to a service that hangs does not hold up the end of the process.
        self._thread = threading.Thread(target=self._run, name="collector-watching", daemon=True)

    def start(self) -> None:
        self._thread.start()

    def stop(self) -> bool:
        """End it; True when it has ended in time."""
        self._stopping.set()
        self._thread.join(GOODBYE_S)
        return not self._thread.is_alive()

    def _run(self) -> None:
        while not self._stopping.wait(self._every_s):
            try:
                self._step()
            except Exception:  # the watch must outlive a full disk and busy records
                log.exception("collector_not_looked_after")
