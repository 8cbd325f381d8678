"""Watches the collector itself, from another process: the dashboard tells when it is silent."""

from datetime import datetime, timedelta

from sqlalchemy import Engine

from collector.clock import Clock
from collector.notify.delivery import Delivered, Make, deliver
from collector.notify.outbox import enqueue
from collector.records.columns import to_ms
from collector.records.engine import reading
from collector.records.life import signs
from collector.vigilance.findings import HOUSE, Finding, Look
from collector.vigilance.keeping import changes, keep, open_warnings
from collector.vigilance.rules import COLLECTOR_SILENT

SILENT_AFTER = timedelta(minutes=5)  # our choice: its supervisor has started it again several times by then
PART = "collector"


class CollectorWatch:
    """Opens and ends the warning that the collector is silent, and delivers while it cannot.

    Args:
        started_at: when the watching process began; the collector has its time to start too.
    """

    def __init__(self, records: Engine, make: Make, clock: Clock) -> None:
        self._records, self._make, self._clock = records, make, clock
        self._started_at = clock.now()

    def step(self) -> Delivered:
        """Look once; called every half minute or so."""
        now = self._clock.now()
        with reading(self._records) as connection:
            last = signs(connection).get(PART)
            is_open = open_warnings(connection, [COLLECTOR_SILENT.name])
        look = self._look(last.at if last else None, now)
        new, over = changes(look, is_open)
        if new or over:
            with self._records.begin() as connection:
                enqueue(connection, [keep(connection, new, over, look, is_open, now)], now)
        return deliver(self._records, self._make, self._clock) if look.found else Delivered()

    def _look(self, last_at: datetime | None, now: datetime) -> Look:
        """A collector that never ran here is not missed."""
        if last_at is None or now - max(last_at, self._started_at) < SILENT_AFTER:
            return Look(ended={(COLLECTOR_SILENT.name, HOUSE): (last_at or now, {})})
        return Look((Finding(COLLECTOR_SILENT, last_at, facts={"since_ms": to_ms(last_at)}),))
