"""Copies what changed to the follower's database; see apart.py for the process that this runs in."""

import logging
import sqlite3
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import datetime
from threading import Event
from typing import Any

from tenacity import RetryCallState, Retrying, retry_if_exception_type, stop_when_event_set, wait_exponential_jitter
from tenacity.nap import sleep_using_event

from collector.clock import Clock
from collector.database_code import database_code
from collector.errors import BatchTooLarge, FollowerAway, FollowerShut, FollowerTrouble, PointsRefused, StoreUnavailable
from collector.instants import to_ms
from collector.readings.follower.ledger import Ledger
from collector.readings.follower.lines import lines_of, piece_end_ms, take_back_key
from collector.readings.follower.server import TimeSeriesServer
from collector.readings.follower.spans import LONG_MS, Span, spans_of
from collector.readings.follower.state import FollowerState
from collector.readings.model import Channel
from collector.readings.reader import channels, units

log = logging.getLogger(__name__)

CHANGES = 5_000  # entries of the log looked at in one pass
EVERY_S = 2.0
SHARE = 0.25  # of the time that copying may take: measured, the intake then keeps its pace
LONGEST_WAIT_S = 300.0
MOST_ALONE = 32  # points of one batch that are sought one by one; the rest of what is refused with them goes together
RETRIED = (FollowerAway, FollowerShut, StoreUnavailable, sqlite3.Error)


class Follower:
    """Follows the change log; what cannot be sent now is owed, and copied later in pieces.

    Args:
        share: the part of the time that copying may take. tell: is handed each new state.
    """

    def __init__(
        self,
        ledger: Ledger,
        server: TimeSeriesServer,
        clock: Clock,
        share: float = SHARE,
        tell: Callable[[FollowerState], None] = lambda _state: None,
    ) -> None:
        self._ledger, self._server, self._clock, self._share, self._told = ledger, server, clock, share, tell
        self._refused: list[tuple[str, str]] = []
        self._stop = Event()
        self._mark: tuple[int, datetime] | None = None  # an end of the log, and when it was that
        self.state = FollowerState(since_at=clock.now())

    def run(self, stop: Event) -> None:
        """Follow until told to stop."""
        self._stop = stop
        trying = Retrying(
            retry=retry_if_exception_type(RETRIED), wait=_asked_or_growing, stop=stop_when_event_set(stop),
            sleep=sleep_using_event(stop), before_sleep=self._note_trouble, reraise=True,
        )  # fmt: skip
        while not stop.is_set():
            more = False
            try:
                more = trying(self._pass)
            except RETRIED:
                return  # told to stop while waiting
            except Exception:  # the top of a task
                log.exception("follower_broke")
                stop.wait(60)
            if not more:
                stop.wait(EVERY_S)

    def _pass(self) -> bool:
        """A waiting that was cut short by the end is followed by no further try."""
        return not self._stop.is_set() and self.step()

    def step(self) -> bool:
        """One pass: what vanished, what is new, else a piece of what is owed. True when there is more to do at once.

        Raises:
            FollowerAway, FollowerShut: nothing is forgotten; the next pass begins with the same.
        """
        began = time.monotonic()
        self._ledger.begin()
        self._take_back()
        changes = self._ledger.changes(CHANGES)
        if changes:
            spans = spans_of(changes)
            self._send(self._lines([span for span in spans if not _is_long(span)]))
            self._ledger.moved(changes[-1].seq, [span for span in spans if _is_long(span)])
            self._well()
        more = bool(changes) or self._pay()
        self._look_whether_complete()
        if more:
            self._stop.wait((time.monotonic() - began) * (1 / self._share - 1))
        return more

    def absorb(self) -> None:
        """What is new becomes owed: while the other side is away the log need not be kept."""
        self._ledger.begin()
        while changes := self._ledger.changes(CHANGES):
            self._ledger.moved(changes[-1].seq, spans_of(changes))

    def _pay(self) -> bool:
        owed = self._ledger.owed()
        if owed is None:
            self._well()
            return False
        end_ms = piece_end_ms(self._ledger.db, owed.span, self.state.batch)
        piece = replace(owed.span, to_ms=end_ms)
        self._send(self._lines([piece]))
        self._ledger.paid(owed, end_ms)
        self._well()
        return True

    def _look_whether_complete(self) -> None:
        """What had arrived by a moment is there once the log is copied past its end of then and nothing is owed."""
        if self._mark is not None and self._ledger.place >= self._mark[0] and self._ledger.owed() is None:
            self._tell(complete_at=self._mark[1])
            self._mark = None
        if self._mark is None:
            self._mark = (self._ledger.newest(), self._clock.now())

    def _tell(self, **changed: Any) -> None:
        self.state = replace(self.state, **changed)
        self._told(self.state)

    def _take_back(self) -> None:
        if not self._ledger.has_vanished():
            return
        gone, known = self._ledger.vanished(), self._channels()
        codes = units(self._ledger.db)
        for steps in gone:
            measurement, tags = take_back_key(known[steps.channel], codes[steps.unit])
            with suppress(PointsRefused):  # a database that cannot delete keeps them
                self._server.take_back(measurement, tags, steps.from_ms, steps.to_ms)
        self._ledger.taken_back(gone)

    def _channels(self) -> dict[int, Channel]:
        return {channel.id: channel for channel in channels(self._ledger.db)}

    def _lines(self, spans: Sequence[Span]) -> Iterator[str]:
        known = self._channels()
        for span in spans:
            if span.channel in known:
                yield from lines_of(self._ledger.db, known[span.channel], span)

    def _send(self, lines: Iterable[str]) -> None:
        batch: list[str] = []
        for line in lines:
            batch.append(line)
            if len(batch) >= self.state.batch:
                self._deliver(batch)
                batch = []
        if batch:
            self._deliver(batch)
        if self._refused:
            self._ledger.set_aside(self._refused, to_ms(self._clock.now()))
            self._tell(set_aside=self.state.set_aside + len(self._refused))
            self._refused = []

    def _deliver(self, batch: Sequence[str]) -> None:
        """Send a batch, in halves while it is too large; points that are refused are sought and set aside."""
        todo, alone = [batch], 0
        while todo:
            part = todo.pop()
            try:
                self._server.write(part)
                self._tell(points=self.state.points + len(part), copied_at=self._clock.now())
                continue
            except BatchTooLarge as error:
                reason, halved = error.reason, True
                self._tell(batch=max(1, min(self.state.batch, len(part) // 2)))
            except PointsRefused as error:
                reason, halved = error.reason, alone < MOST_ALONE
            if len(part) > 1 and halved:
                middle = len(part) // 2
                todo += [part[middle:], part[:middle]]
            else:
                alone += 1
                self._refused += [(line, reason) for line in part]

    def _well(self) -> None:
        if self.state.state != "following":
            log.info("follower_back points=%d", self.state.points)
            self._tell(state="following", reason="", since_at=self._clock.now())

    def _note_trouble(self, tried: RetryCallState) -> None:
        error = tried.outcome.exception() if tried.outcome else None
        state = "shut" if isinstance(error, FollowerShut) else "away"
        reason = error.reason if isinstance(error, FollowerTrouble) else str(error)
        if (state, reason) != (self.state.state, self.state.reason):
            log.warning("follower_waits state=%s code=%s reason=%s", state, database_code(error), reason)
        since = self.state.since_at if self.state.state == state else self._clock.now()
        self._tell(state=state, reason=reason, since_at=since)
        with suppress(StoreUnavailable, sqlite3.Error):  # then the log keeps it
            self.absorb()


def _is_long(span: Span) -> bool:
    return span.to_ms - span.from_ms > LONG_MS


_growing = wait_exponential_jitter(initial=1, max=LONGEST_WAIT_S, jitter=1)


def _asked_or_growing(tried: RetryCallState) -> float:
    """The pause that the other side asked for, else a longer one each time."""
    error = tried.outcome.exception() if tried.outcome else None
    asked = error.wait_s if isinstance(error, FollowerAway) else None
    return _growing(tried) if asked is None else max(asked, 0.1)
