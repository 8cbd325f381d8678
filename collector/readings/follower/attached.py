"""The follower as a part of the collector: its thread, its connections, what it says of itself."""

import threading
from threading import Event
from typing import TYPE_CHECKING, Any

from collector.clock import Clock
from collector.readings.follower.ledger import SET_ASIDE, Ledger, forget_all, set_aside_rows
from collector.readings.follower.settings import FollowerSettings
from collector.readings.schema import open_reader
from collector.readings.store import SqliteReadings

if TYPE_CHECKING:
    pass

GOODBYE_S = 5.0  # an answer that takes longer is not waited for; the batch is sent again at the next start


class AttachedFollower:
    """Nothing at all while the settings name no database."""

    def __init__(self, settings: FollowerSettings, store: SqliteReadings, clock: Clock) -> None:
        self.is_on = settings.is_on
        self._thread: threading.Thread | None = None
        if not settings.is_on:
            # Whoever turns it on again gets everything copied anew, since the log has gone on without it.
            forget_all(store)
            return
        # Loaded only where something follows: a home without it pays no memory.
        from collector.readings.follower.follow import Follower
        from collector.readings.follower.server import InfluxServer

        self._own = Ledger(store, open_reader(store.path))
        self._own.begin()
        self._asked = Ledger(store, open_reader(store.path))  # for the threads that ask how it goes
        self._server = InfluxServer(settings)
        self._follower: Follower = Follower(self._own, self._server, clock)

    def start(self, stop: Event) -> None:
        if self.is_on:
            # A daemon, since it may hang in an answer that does not come when the collector has to end.
            self._thread = threading.Thread(target=self._follower.run, args=(stop,), name="follower", daemon=True)
            self._thread.start()

    def join(self) -> None:
        """Wait for the last answer, but not for long."""
        if self._thread is not None:
            self._thread.join(GOODBYE_S)

    def close(self) -> None:
        """Close what only this part has open; what a hanging thread still uses is left to the end of the process."""
        if self.is_on:
            self._asked.db.close()
            if self._thread is None or not self._thread.is_alive():
                self._own.db.close()
                self._server.close()

    def places(self) -> list[int]:
        """How far the follower has come in the log, if there is one."""
        return [self._asked.place] if self.is_on else []

    def facts(self) -> dict[str, Any]:
        """What the follower says of itself, for the sign of life."""
        state, asked = self._follower.state, self._asked
        spans, owed_ms = asked.owed_total()
        return {
            "state": state.state,
            "reason": state.reason,
            "since": state.since_at.isoformat() if state.since_at else None,
            "copied_at": state.copied_at.isoformat() if state.copied_at else None,
            "points": state.points,
            "set_aside": asked.counter(SET_ASIDE),
            "set_aside_reason": next((reason for _, reason, _ in set_aside_rows(asked.db)), ""),
            "batch": state.batch,
            "lag": asked.lag(),
            "owed_spans": spans,
            "owed_ms": owed_ms,
        }
