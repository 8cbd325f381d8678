"""The collector: takes readings in on one thread, and looks after everything that follows on another."""

import logging
import sqlite3
import threading
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, field
from datetime import datetime
from functools import partial
from threading import Event
from typing import Any

from sqlalchemy import Engine, select

from collector.automatic_copies import AutomaticCopies
from collector.choices import RecordChoices
from collector.clock import Clock, SystemClock
from collector.duties import Duty, perform_all
from collector.handed import take_handed
from collector.importing.folder import ImportFolder
from collector.intake.address import broker_address
from collector.intake.client import Connection
from collector.intake.intake import Intake
from collector.intake.short_way import short_way
from collector.intake.standing import listens_to_path, remember
from collector.keep_raw import KeepRaw
from collector.notify.courier import Courier
from collector.readings import packs
from collector.readings.counted import CountedStore
from collector.readings.follower.attached import AttachedFollower
from collector.readings.follower.settings import FollowerSettings, read_follower_settings
from collector.readings.reader import newest_change
from collector.readings.rollups import CONSUMER, follow
from collector.readings.schema import open_reader
from collector.readings.store import SqliteReadings
from collector.records import tables
from collector.records.columns import to_ms
from collector.records.engine import open_records, reading
from collector.records.life import sign, signs
from collector.settings import Settings
from collector.typed import take_typed
from collector.vigil import Vigil, disk_use
from collector.vigilance.findings import Handed
from collector.watch import Watch

log = logging.getLogger(__name__)

KEPT_CHANGES = 100_000  # entries of the change log that stay after everyone has seen them: our choice


@dataclass
class BrokerState:
    """Whether the broker is there, told by the intake's thread, read by the others."""

    state: str = "connecting"
    reason: str = ""
    since: datetime | None = None
    lock: threading.Lock = field(default_factory=threading.Lock)

    def tell(self, clock: Clock, state: str, reason: str) -> None:
        with self.lock:
            if state != self.state:
                self.since = clock.now()
            self.state, self.reason = state, reason


class Collector:
    """Everything that one collector process holds open; its data folder is prepared."""

    def __init__(
        self, settings: Settings, clock: Clock | None = None, follower_settings: FollowerSettings | None = None
    ) -> None:
        self._clock = clock or SystemClock()
        self._settings = settings
        self._store = SqliteReadings(settings.readings_path)
        self._readings: sqlite3.Connection = open_reader(settings.readings_path)
        self._records: Engine = open_records(settings.records_at)
        self._choices = RecordChoices()
        self._broker = BrokerState()
        self._counted = CountedStore(self._store, self._clock)
        self._intake = Intake(self._counted, self._clock, self._choices, self._tell)
        self._listened: Sequence[str] = ()
        self._choose()
        self._folder = ImportFolder(settings.import_folder, self._store, self._records, self._clock, self._intake)
        self._watch = Watch(self._readings, self._records, self._clock)
        self._started_at = self._clock.now()
        self._copies = AutomaticCopies(settings, self._records, self._clock)
        to = self._copies.sent_to
        self._vigil = Vigil(self._readings, self._records, self._clock, disk_use(settings.data), to)
        self._courier = Courier(settings, self._records, self._clock, self._vigil.is_well, self._vigil.distress)
        with reading(self._records) as connection:
            said = signs(connection).get("follower")
        own = follower_settings or read_follower_settings()
        self._follower = AttachedFollower(own, self._store, self._clock, said.facts if said else None)

    def run(self, stop: Event) -> None:
        """Collect until told to stop."""
        address = broker_address(self._settings)
        log.info("collector_began data=%s broker=%s", self._settings.data, address)
        # A warning of the first moment must find the channels that the settings' file names.
        self._courier.follow_settings_file()
        keeper = threading.Thread(target=perform_all, args=(self._duties(), stop), name="keeper")
        courier = threading.Thread(target=self._courier.run, args=(stop,), name="courier")
        keeper.start()
        courier.start()
        self._follower.start(stop)
        try:
            Connection(address, self._intake, port=self._way()).run(stop)
        finally:
            stop.set()
            keeper.join()
            courier.join()
            self._copies.stop()
            self._follower.join()
            self._sign()
            self._follower.close()
            self._store.close()
            self._readings.close()
            self._records.dispose()
            log.info("collector_ended")

    def _duties(self) -> list[Duty]:
        return [
            Duty("rollups", lambda: follow(self._store) > 0, every_s=1),
            Duty("packs", self._pack, every_s=60, share=0.1),
            Duty("watch", self._watch.step, every_s=2, share=0.2),
            Duty("typed", lambda: take_typed(self._records, self._store), every_s=1),
            Duty("handed", lambda: take_handed(self._records, self._store, self._intake.read), every_s=1),
            Duty("vigil", self._look_round, every_s=15),
            Duty("holds", self._copy_holds, every_s=10),
            Duty("choices", self._choose, every_s=5),
            Duty("import", self._folder.step, every_s=2, share=0.5),
            Duty("sign", self._sign, every_s=10),
            Duty("tidy", self._tidy, every_s=600),
            Duty("keep", KeepRaw(self._store, self._records, self._clock).step, every_s=600, share=0.1),
            Duty("copy", self._copies.step, every_s=10),
        ]

    def _way(self) -> Callable[[], int] | None:
        return None if self._settings.broker else partial(short_way, self._settings)

    def _choose(self) -> None:
        """Read what people chose, and let the embedded broker know it for its next start."""
        self._choices.refresh(self._records)
        if not self._settings.broker and self._listened != self._intake.filters:
            remember(listens_to_path(self._settings), self._intake.filters)
            self._listened = self._intake.filters

    def _tell(self, state: str, reason: str) -> None:
        self._broker.tell(self._clock, state, reason)

    def _look_round(self) -> None:
        refusing = self._intake.refusing
        self._vigil.step(
            Handed(
                broker_connected=self._broker.state == "connected",
                broker_since_at=self._broker.since,
                store_refusing_since_at=refusing.since_at if refusing else None,
                store_reason=refusing.reason if refusing else "",
                second=self._follower.second_store(),
            )
        )

    def _copy_holds(self) -> None:
        """What a person says of a probe that reports on change reaches the store; 0 takes it back."""
        chosen = tables.probe_setting
        with reading(self._records) as connection:
            rows = connection.execute(
                select(chosen.c.probe, chosen.c.at_latest_every_s).where(chosen.c.at_latest_every_s.is_not(None))
            ).all()
        for row in rows:
            self._store.hold(row.probe, row.at_latest_every_s or None)

    def _sign(self) -> None:
        facts = {
            "started_at": self._started_at.isoformat(),
            "broker": self._broker.state,
            "broker_reason": self._broker.reason,
            "broker_since": self._broker.since.isoformat() if self._broker.since else None,
            "waiting": self._intake.pending,
            "refusing": self._intake.refusing is not None,
            "tally": self._tally(),
            "last_message_at": self._intake.last_message_at.isoformat() if self._intake.last_message_at else None,
        }
        sign(self._records, "collector", self._clock.now(), facts)
        if self._follower.is_on:
            sign(self._records, "follower", self._clock.now(), self._follower.facts())

    def _tally(self) -> dict[str, Any]:
        tally = asdict(self._counted.tally)
        return tally | {"last_at": tally["last_at"].isoformat() if tally["last_at"] else None}

    def _pack(self) -> bool:
        with self._store.transaction() as db:
            return packs.make_due(db, to_ms(self._clock.now())) > 0

    def _tidy(self) -> None:
        """Forget changes that the rollups, the watch and the follower have seen, but for the newest."""
        with reading(self._records) as connection:
            watched = connection.execute(select(tables.cursor.c.seq).where(tables.cursor.c.name == "watch")).scalar()
        newest = newest_change(self._readings) - KEPT_CHANGES
        seen = min(int(watched or 0), self._store.consumed(CONSUMER), newest, *self._follower.places())
        if seen > 0:
            self._store.drop_changes(seen)
