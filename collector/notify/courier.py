"""The courier: everything that goes out, on a thread of its own, because the other side may take its time."""

import logging
import time
from collections.abc import Callable
from datetime import timedelta
from threading import Event
from typing import Any

from sqlalchemy import Engine

from collector.clock import Clock
from collector.duties import Duty, perform_all
from collector.errors import WarningNotSent
from collector.notify.channels import ChannelRow, channels, follow_file, note_failed, note_worked
from collector.notify.delivery import deliver
from collector.notify.known import load_known
from collector.notify.making import Maker
from collector.notify.message import Message
from collector.notify.rounds import go_round
from collector.notify.states import states
from collector.notify.words import Words
from collector.records.columns import new_id
from collector.records.engine import reading
from collector.settings import Settings

log = logging.getLogger(__name__)

BEAT_EVERY_S = 300  # our choice: services that wait for it usually forgive two or three missed ones
STATES_AGAIN_S = 900  # what holds now is published again at least so often: our choice, a broker may have forgotten
SHOUT_AGAIN_S = 6 * 3_600
WRITTEN_AGAIN = timedelta(hours=1)  # a heartbeat that goes on working is noted once an hour, to spare the disk


class Courier:
    """Delivers the outbox, reminds, beats the heart, and tells other devices what holds.

    Args:
        is_well: whether the collector's own work goes on; without it the heartbeat stops, so that somebody notices.
        distress: what cannot be written into the outbox and must be told all the same; None when all is well.
    """

    def __init__(
        self,
        settings: Settings,
        records: Engine,
        clock: Clock,
        is_well: Callable[[], bool],
        distress: Callable[[], Words | None],
    ) -> None:
        self._settings, self._records, self._clock = settings, records, clock
        self._is_well, self._distress = is_well, distress
        self._make = Maker(settings)
        self._shown: dict[str, tuple[dict[str, Any], float]] = {}
        self._shouted_at: float | None = None

    def run(self, stop: Event) -> None:
        """Go on until told to stop."""
        perform_all(self.duties(), stop)

    def duties(self) -> list[Duty]:
        return [
            Duty("settings_file", self.follow_settings_file, every_s=60),
            Duty("rounds", lambda: go_round(self._records, self._clock.now()), every_s=30),
            Duty("deliver", lambda: deliver(self._records, self._make, self._clock).sent > 0, every_s=3, share=1.0),
            Duty("shout", self.shout, every_s=60),
            Duty("states", self.show_states, every_s=5),
            Duty("heartbeat", self.beat, every_s=BEAT_EVERY_S),
        ]

    def follow_settings_file(self) -> None:
        """The file of addresses that the settings name may change while we run."""
        if self._settings.notify_url_file is None:
            with reading(self._records) as connection:
                if not any(row.options.get("from_file") for row in channels(connection)):
                    return
        with self._records.begin() as connection:
            follow_file(connection, self._settings.notify_url_file, self._clock.now())

    def beat(self) -> None:
        """One beat on every heartbeat channel, while all is well."""
        for row in self._of_kind("heartbeat"):
            if not self._is_well():
                log.warning("heartbeat_held reason=%s", "the collector's own work stands still")
                return
            try:
                self._make(row).send(Message(new_id(), "beat", "note", "", "", self._clock.now()))
            except WarningNotSent as error:
                with self._records.begin() as connection:
                    note_failed(connection, row.id, error.reason, self._clock.now())
                continue
            now = self._clock.now()
            if row.trouble or row.worked_at is None or now - row.worked_at >= WRITTEN_AGAIN:
                with self._records.begin() as connection:
                    note_worked(connection, row.id, now)

    def show_states(self) -> None:
        """Publish what holds for each place when it has changed, and now and then anyway."""
        for row in self._of_kind("mqtt"):
            with reading(self._records) as connection:
                now_holds = states(connection, load_known(connection, self._clock.now()))
            before, shown_at = self._shown.get(row.id, ({}, 0.0))
            again = time.monotonic() - shown_at >= STATES_AGAIN_S
            changed = {k: v for k, v in now_holds.items() if again or before.get(k, {}) != v}
            changed.update({place_id: None for place_id in before if place_id not in now_holds})
            if not changed:
                continue
            try:
                self._make(row).show(changed)
            except WarningNotSent as error:
                log.warning("states_not_shown reason=%s", error.reason)
                continue
            self._shown[row.id] = (now_holds, time.monotonic() if again else shown_at)

    def shout(self) -> None:
        """Tell of distress at once, past the outbox, which cannot be written then; every six hours at most."""
        words = self._distress()
        if words is None or (self._shouted_at is not None and time.monotonic() - self._shouted_at < SHOUT_AGAIN_S):
            return
        with reading(self._records) as connection:
            rows = [row for row in channels(connection) if row.takes("urgent")]
        message = Message(new_id(), "opened", "urgent", words.title, words.body, self._clock.now())
        if sum(self._shouted_on(row, message) for row in rows) > 0:
            self._shouted_at = time.monotonic()

    def _shouted_on(self, row: ChannelRow, message: Message) -> bool:
        try:
            self._make(row).send(message)
        except WarningNotSent as error:
            log.warning("message_not_sent channel=%s kind=%s reason=%s", row.id, row.kind, error.reason)
            return False
        return True

    def _of_kind(self, kind: str) -> list[ChannelRow]:
        with reading(self._records) as connection:
            return [row for row in channels(connection) if row.kind == kind and row.is_on]
