"""The follower as a part of the collector: its process, what is written down for it, what it says of itself."""

import json
import logging
import subprocess
import sys
import threading
import time
from collections import deque
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import replace
from datetime import datetime
from threading import Event
from typing import Any

from collector.clock import Clock
from collector.database_code import database_code
from collector.errors import StoreUnavailable
from collector.readings.follower import wishes
from collector.readings.follower.ledger import Ledger, set_aside_rows
from collector.readings.follower.settings import FollowerSettings
from collector.readings.follower.state import FollowerState
from collector.readings.follower.writing import SET_ASIDE, StoreWriter, forget_all
from collector.readings.schema import open_reader
from collector.readings.store import SqliteReadings
from collector.vigilance.findings import SecondStore

log = logging.getLogger(__name__)

CHILD = "collector.readings.follower.apart"
AGAIN_S = 30.0  # after its process has ended by itself: our choice
PACE_S = 300.0  # over which the pace of catching up is taken: our choice
LEAST_PACE_S = 15.0


class AttachedFollower:
    """Nothing at all while the settings name no database.

    Args:
        before: what was said at the last sign of life.
    """

    def __init__(
        self, settings: FollowerSettings, store: SqliteReadings, clock: Clock, before: Mapping[str, Any] | None = None
    ) -> None:
        self.is_on = settings.is_on
        self._child: subprocess.Popen[str] | None = None
        self._thread: threading.Thread | None = None
        if not settings.is_on:
            # Whoever turns it on again gets everything copied anew, since the log has gone on without it.
            forget_all(store)
            return
        self._settings, self._path, self._clock = settings, store.path, clock
        self._writer = StoreWriter(store)
        self._asked = Ledger(self._writer, open_reader(store.path))  # for the threads that ask how it goes
        known = {} if self._asked.begin() or before is None else before
        self._began_at = _time(known, "began_at") or clock.now()
        self._complete_at = _time(known, "complete_at")
        self._state = FollowerState(since_at=clock.now())
        self._pace: deque[tuple[float, int]] = deque()

    def start(self, stop: Event) -> None:
        if self.is_on:
            self._thread = threading.Thread(target=self._run, args=(stop,), name="follower")
            self._thread.start()

    def join(self) -> None:
        """End its process; a batch that is on its way is sent again at the next start."""
        if self._thread is not None:
            self._end_child()
            self._thread.join()

    def close(self) -> None:
        if self.is_on:
            self._asked.db.close()

    def places(self) -> list[int]:
        """How far the follower has come in the log, if there is one."""
        return [self._asked.place] if self.is_on else []

    def second_store(self) -> SecondStore | None:
        """How it goes, for the vigil; None where nothing follows."""
        return SecondStore(self._state.state, self._began_at, self._complete_at) if self.is_on else None

    def facts(self) -> dict[str, Any]:
        """What the follower says of itself, for the sign of life."""
        state, asked = self._state, self._asked
        spans, owed_ms = asked.owed_total()
        return {
            "state": state.state,
            "reason": state.reason,
            "since": _text(state.since_at),
            "copied_at": _text(state.copied_at),
            "began_at": _text(self._began_at),
            "complete_at": _text(self._complete_at),
            "points": state.points,
            "set_aside": asked.counter(SET_ASIDE),
            "set_aside_reason": next((reason for _, reason, _ in set_aside_rows(asked.db)), ""),
            "batch": state.batch,
            "lag": asked.lag(),
            "owed_spans": spans,
            "owed_ms": owed_ms,
            "left_s": self._left_s(owed_ms),
        }

    def _left_s(self, owed_ms: int) -> int | None:
        """How long catching up still takes at the pace of the last minutes; None while that cannot be told."""
        now = time.monotonic()
        if not owed_ms or self._state.state != "following" or (self._pace and owed_ms > self._pace[-1][1]):
            self._pace.clear()
        self._pace.append((now, owed_ms))
        while now - self._pace[0][0] > PACE_S:
            self._pace.popleft()
        took, done = now - self._pace[0][0], self._pace[0][1] - owed_ms
        return round(owed_ms * took / done) if done > 0 and took >= LEAST_PACE_S else None

    def _run(self, stop: Event) -> None:
        while not stop.is_set():
            try:
                self._serve(stop)
            except Exception:  # the top of a task
                log.exception("follower_broke")
                self._end_child()
            stop.wait(AGAIN_S)

    def _serve(self, stop: Event) -> None:
        """Start the process and write down what it wishes for, until it ends."""
        child = subprocess.Popen(
            [sys.executable, "-m", CHILD], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, encoding="utf-8"
        )
        self._child = child
        assert child.stdout is not None
        if stop.is_set():  # nobody has seen this one yet
            child.kill()
        with child:
            job = {"readings": str(self._path), "settings": self._settings.model_dump(mode="json")}
            self._say(child, job)
            for line in child.stdout:
                if stop.is_set():
                    break
                self._say(child, self._answer(json.loads(line)))
            child.kill()
        if not stop.is_set():
            log.warning("follower_ended code=%s", child.returncode)
            reason = "is not being copied to, since the process for it has ended; the log says why"
            self._state = replace(self._state, state="away", reason=reason, since_at=self._clock.now())

    def _say(self, child: subprocess.Popen[str], message: dict[str, Any]) -> None:
        assert child.stdin is not None
        with suppress(BrokenPipeError):  # it has ended; so will its lines
            child.stdin.write(wishes.line_of(message))
            child.stdin.flush()

    def _answer(self, wish: dict[str, Any]) -> dict[str, Any]:
        if wish["do"] == "told":
            self._state = wishes.state_of(wish)
            self._complete_at = self._state.complete_at or self._complete_at
            return {}
        try:
            wishes.fulfil(self._writer, wish)
        except StoreUnavailable as error:
            log.warning("follower_unwritten code=%s reason=%s", database_code(error), error.reason)
            return wishes.trouble(error)
        return {}

    def _end_child(self) -> None:
        if self._child is not None:
            self._child.kill()


def _text(at: datetime | None) -> str | None:
    return at.isoformat() if at else None


def _time(facts: Mapping[str, Any], name: str) -> datetime | None:
    text = facts.get(name)
    return datetime.fromisoformat(text) if isinstance(text, str) else None
