"""The follower as a part of the collector: its thread, its connections, what it says of itself."""

import threading
from threading import Event
from typing import Any

from collector.clock import Clock
from collector.readings.follower.follow import Follower
from collector.readings.follower.ledger import SET_ASIDE, Ledger, forget_all, set_aside_rows
from collector.readings.follower.server import InfluxServer
from collector.readings.follower.settings import FollowerSettings
from collector.readings.schema import open_reader
from collector.readings.store import SqliteReadings

GOODBYE_S = 5.0  # an answer that takes longer is not waited for; the batch is sent again at the next start


class AttachedFollower:
    """Nothing at all while the settings name no database."""

    def __init__(self, settings: FollowerSettings, store: SqliteReadings, clock: Clock) -> None:
        self.is_on = settings.is_on
        self._store = store
        self._thread: threading.Thread | None = None
        if not settings.is_on:
            # Whoever turns it on again gets everything copied anew, since the log has gone on without it.
            forget_all(store)
            return
        self._ledger = Ledger(store, open_reader(store.path))
        self._ledger.begin()
        self._server = InfluxServer(settings)
        self._follower = Follower(self._ledger, self._server, clock)
        self._asking = open_reader(store.path)

    def start(self, stop: Event) -> None:
        if self.is_on:
            # A daemon, since it may hang in an answer that does not come when the collector has to end.
            self._thread = threading.Thread(target=self._follower.run, args=(stop,), name="follower", daemon=True)
            self._thread.start()

    def join(self) -> None:
        if self._thread is not None:
            self._thread.join(GOODBYE_S)

    def places(self) -> list[int]:
        """How far the follower has come in the log, if there is one."""
        return [Ledger(self._store, self._asking).place] if self.is_on else []

    def facts(self) -> dict[str, Any]:
        """What the follower says of itself, for the sign of life."""
        state, asked = self._follower.state, Ledger(self._store, self._asking)
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
