"""The vigil: watches the probes' silence, the broker, the store, the disk, the clock and the copies.

It judges by arrival and by the clock, as things stand now; nothing of it is ever replayed.
"""

import logging
import shutil
import sqlite3
import time
from collections.abc import Callable, Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine
from sqlalchemy.exc import OperationalError

from collector.air.channel import TYPED_PREFIX
from collector.clock import Clock
from collector.notify.known import probe_places
from collector.notify.outbox import Desk, enqueue
from collector.notify.words import Words
from collector.records.columns import from_ms
from collector.records.engine import reading
from collector.records.facts import Facts
from collector.records.life import Sign, sign, signs
from collector.records.places import load_facts
from collector.records.tables import probe_setting
from collector.records.warnings import CaveWarning, Outcome, one
from collector.vigilance import copies, house
from collector.vigilance.clocks import Clocks, steady_s
from collector.vigilance.disk import PART, Disk, DiskUse
from collector.vigilance.findings import Handed, Look, Probe, View
from collector.vigilance.keeping import add_facts, changes, keep, merged, open_warnings, withdraw
from collector.vigilance.outage import Outage, look_back
from collector.vigilance.rules import NOTHING_HEARD, STORE_REFUSING
from collector.vigilance.silence import OUTAGES, Silence

log = logging.getLogger(__name__)

DISTRESS_AFTER_S = 120.0  # our choice: records that somebody else holds for long are free again by then


def disk_use(folder: Path) -> Callable[[], DiskUse]:
    """Looks at the disk that holds a folder."""

    def look() -> DiskUse:
        usage = shutil.disk_usage(folder)
        return DiskUse(usage.free, usage.total)

    return look


class Vigil:
    """Steps every few seconds; made before the first message can arrive.

    Args:
        readings: a connection of the calling thread. records: the records. clock: now.
        disk: room on the disk of the data. copies_to: where copies are sent on to, "" nowhere; None: nobody wants any.
        steady: seconds on a clock that nobody sets.
    """

    def __init__(
        self,
        readings: sqlite3.Connection,
        records: Engine,
        clock: Clock,
        disk: Callable[[], DiskUse],
        copies_to: Callable[[], str | None] = lambda: None,
        steady: Callable[[], float] = steady_s,
    ) -> None:
        self._readings, self._records, self._clock = readings, records, clock
        self._started_at = clock.now()
        self._copies_to = copies_to
        self._copies_since_at = self._started_at if copies_to() is not None else None
        self._silence = Silence(readings, self._started_at)
        self._clocks = Clocks(readings, steady)
        with reading(records) as connection:
            before = signs(connection).get(PART)
        self._disk = Disk(disk, [tuple(s) for s in before.facts.get("samples", [])] if before else [])
        self._outages: list[Outage] = []
        self._stepped_at: float | None = None
        self._cannot_write_since: float | None = None

    def step(self, handed: Handed) -> Outcome:
        """Look once, and write down what has changed.

        Raises:
            OperationalError: the records cannot be written; `distress` says so after a while.
        """
        now = self._clock.now()
        try:
            outcome = self._step(handed, now)
        except OperationalError:
            if self._cannot_write_since is None:
                self._cannot_write_since = time.monotonic()
            raise
        self._cannot_write_since = None
        self._stepped_at = time.monotonic()
        return outcome

    def is_well(self, within_s: float = 120.0) -> bool:
        """Whether the last step was done a short while ago; asked by other threads, for the heartbeat."""
        return self._stepped_at is not None and time.monotonic() - self._stepped_at < within_s

    def distress(self) -> Words | None:
        """What must be told although the records cannot be written; None when all is well."""
        since = self._cannot_write_since
        if since is None or time.monotonic() - since < DISTRESS_AFTER_S:
            return None
        rule = STORE_REFUSING
        body = f"Neither readings nor warnings can be written down. Often: {rule.likely}. Try first: {rule.first}."
        return Words(f"Urgent: rindwatch: {rule.word}", body)

    def _step(self, handed: Handed, now: datetime) -> Outcome:
        with reading(self._records) as connection:
            facts, is_open = load_facts(connection), open_warnings(connection)
            dismissed, known_signs = _dismissed(connection), signs(connection)
        view = View(now, handed, self._probes(facts, dismissed, now), is_open)
        look = merged(self._looks(view, known_signs))
        new, over = changes(look, is_open)
        known = [(o, look_back(self._readings, facts, o, now)) for o in self._outages if o.due(now)]
        self._outages = [outage for outage in self._outages if not outage.settled]
        self._sample_disk(now)
        if not new and not over and not known:
            return Outcome()
        with self._records.begin() as connection:
            outcome = keep(connection, new, over, look, is_open, now)
            enqueue(connection, [outcome], now)
            gone = [w for outage, told in known if (w := _say_more(connection, outage, told, now)) is not None]
            enqueue(connection, [Outcome(withdrawn=tuple(gone))], now)
        self._outages += _outages((*outcome.opened, *outcome.cleared))
        for about in (*outcome.opened, *outcome.cleared):
            log.info("vigil rule=%s probe=%s over=%s", about.rule, about.probe, about.cleared_at is not None)
        return Outcome(outcome.opened, outcome.cleared, tuple(gone))

    def _looks(self, view: View, known: Mapping[str, Sign]) -> list[Look]:
        second = self._copies_to()
        self._copies_since_at = None if second is None else self._copies_since_at or view.now
        return [
            self._silence.look(view),
            self._clocks.look(view),
            self._disk.look(view),
            house.broker(view, self._started_at),
            house.store(view),
            house.second_store(view),
            copies.copies(view, known, self._copies_since_at, second or ""),
        ]

    def _probes(self, facts: Facts, dismissed: set[str], now: datetime) -> dict[str, Probe]:
        """Probes that hang in a place that is in use, and were heard at least once."""
        in_use = {place.id for place in facts.open_places()}
        placed = {probe for probe, place_id in probe_places(facts, now).items() if place_id in in_use}
        rows = self._readings.execute("SELECT name, topic, last_ms, at_latest_every_s FROM probe")
        return {
            row[0]: Probe(*row)
            for row in rows
            if row[0] in placed and row[0] not in dismissed and not row[0].startswith(TYPED_PREFIX)
        }

    def _sample_disk(self, now: datetime) -> None:
        if self._disk.sample(now):
            sign(self._records, PART, now, {"samples": self._disk.samples})


def _dismissed(connection: Connection) -> set[str]:
    chosen = probe_setting.select().where(probe_setting.c.dismissed_at.is_not(None))
    return {row.probe for row in connection.execute(chosen)}


def _say_more(connection: Connection, outage: Outage, known: dict[str, Any], now: datetime) -> CaveWarning | None:
    """Say more of an outage; one in which the probes kept everything, and of which nobody was told, is taken back."""
    before = one(connection, outage.warning_id)
    if before is None or before.withdrawn_at is not None:
        return None
    about = add_facts(connection, before, known)
    found_afterwards = about.rule == NOTHING_HEARD.name and about.opened_at < about.found_at
    if outage.settled and known["caught_up"] and found_afterwards:
        return withdraw(connection, about, now)
    desk = Desk(connection, now)
    desk.refresh([outage.warning_id])
    desk.put_into_words()
    return None


def _outages(changed: tuple[CaveWarning, ...]) -> list[Outage]:
    """Outages that have just ended."""
    found = []
    for about in changed:
        from_, to = about.facts.get("gap_from_ms"), about.facts.get("gap_to_ms")
        if about.rule in OUTAGES and about.cleared_at is not None and from_ is not None and to is not None:
            found.append(Outage(about.id, int(from_), int(to), from_ms(int(to))))
    return found
