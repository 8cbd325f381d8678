"""From an MQTT message to a committed reading."""

import logging
import secrets
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from paho.mqtt.client import MQTTMessage, topic_matches_sub

from collector.clock import Clock
from collector.errors import ReadingRejected, StoreUnavailable
from collector.intake.address import OWN_SPEECH, OWN_TOPICS
from collector.intake.arrivals import Arrivals
from collector.intake.payloads import FieldHints, decode
from collector.intake.redelivery import repeated
from collector.intake.standing import BEGAN_TOPIC
from collector.intake.timing import Passage, arrival
from collector.readings.model import Arrival, Reject
from collector.readings.store import ReadingStore
from collector.records.columns import to_ms

log = logging.getLogger(__name__)

OWN_ROOT = "rindwatch/"
MARKER_TOPIC = f"{OWN_SPEECH}marker"
TOLD = 100  # topics whose first unread message is logged; the page shows all, and strangers shall not fill the log
SETTLE_S = 1.0  # our choice: a broker on the house network has handed over what it held well before


class Choices(Protocol):
    """What people chose that matters on the way in; looked up for every message, so it must be quick."""

    @property
    def filters(self) -> Sequence[str]: ...

    @property
    def hints(self) -> Mapping[str, FieldHints]: ...


@dataclass(frozen=True, slots=True)
class Refusing:
    """Since when the store takes nothing, and why."""

    since_at: datetime
    reason: str


class Intake:
    """Takes messages, keeps them in the store, and says which may be acknowledged.

    Called by one thread only.
    """

    def __init__(self, store: ReadingStore, clock: Clock, choices: Choices, tell: Callable[[str, str], None]) -> None:
        self._store, self._clock, self._choices = store, clock, choices
        self._tell = tell
        self._pending: list[Arrival | Reject] = []
        self._acks: list[tuple[int, int]] = []
        self._arrivals = Arrivals()
        self._marker = b""
        self._queued = False
        self._stored_before: list[tuple[str, bytes]] | None = None
        self._told = set[str]()
        self.last_message_at: datetime | None = None
        self.refusing: Refusing | None = None

    @property
    def pending(self) -> int:
        return max(len(self._acks), len(self._pending))  # a message at QoS 0 or one set aside is in one of them only

    @property
    def filters(self) -> Sequence[str]:
        return (OWN_TOPICS, *self._choices.filters)

    @property
    def patience_s(self) -> float:
        """How long to wait for more before a commit: after a reconnect, until it is plain what came again."""
        return SETTLE_S if self._stored_before else 0.0

    def marker(self) -> tuple[str, bytes]:
        """A message of our own: once it is back, whatever queued before it has come too."""
        self._marker = secrets.token_bytes(12)
        return MARKER_TOPIC, self._marker

    def connected(self, *, session_present: bool) -> None:
        self._queued = session_present
        self._stored_before = self._store.flights() if session_present else []
        log.info("broker_connected session_kept=%s", session_present)
        self._tell("connected", "")

    def lost(self, reason: str) -> None:
        """What was not acknowledged will come again."""
        log.warning("broker_lost reason=%s", reason)
        self._pending.clear()
        self._acks.clear()
        self._tell("lost", reason)

    def stopped(self) -> None:
        """The broker has taken our good-bye, and with it every acknowledgement before."""
        self._store.forget_flights()

    def take(self, message: MQTTMessage) -> None:
        """One message; whatever it holds, intake goes on."""
        if message.qos > 0:
            self._acks.append((message.mid, message.qos))
        topic, payload = _topic(message), bytes(message.payload)
        if topic.startswith(OWN_SPEECH):
            self._heed(topic, payload)
            return
        if not self._is_listened_to(topic):
            return
        now = self._clock.now()
        self.last_message_at = now
        arrived_ms = self._arrivals.stamp(topic, to_ms(now))
        self._pending.append(
            self.read(Passage(topic, arrived_ms, bool(message.retain), self._queued, payload, message.qos > 0))
        )

    def _heed(self, topic: str, payload: bytes) -> None:
        """What rindwatch says to itself: here ends what queued; or this broker is new and hands nothing over again."""
        self._queued = self._queued and payload != self._marker
        if topic == BEGAN_TOPIC and self._stored_before:
            self._stored_before = []

    def _is_listened_to(self, topic: str) -> bool:
        """False for a topic that was taken back while we were away: the broker's session still has it."""
        return topic.startswith(OWN_ROOT) or any(topic_matches_sub(own, topic) for own in self.filters)

    def read(self, passage: Passage) -> Arrival | Reject:
        """Decode a message and settle its times; what cannot be understood becomes a reject with its reason."""
        try:
            hints = self._choices.hints
            decoded = decode(passage.topic, passage.payload, hints.get(passage.topic) if hints else None)
            return arrival(decoded, passage)
        except ReadingRejected as error:
            self._log_set_aside(passage.topic, error.reason)
            return _reject(passage, error.reason)
        except Exception as error:  # the top of a task: a fault of ours in one payload must not stop the others
            log.exception("payload_not_read topic=%r", passage.topic)
            return _reject(passage, f"could not be read: {type(error).__name__}")

    def _log_set_aside(self, topic: str, reason: str) -> None:
        if topic not in self._told and len(self._told) < TOLD:
            self._told.add(topic)
            log.warning("message_set_aside topic=%r reason=%r", topic, reason)

    def commit(self) -> Sequence[tuple[int, int]]:
        """Keep what came and return what may be acknowledged, in order of arrival."""
        self._leave_out_repeated()
        if self._pending:
            self._keep()
        acks = self._acks
        self._pending, self._acks = [], []
        return acks

    def _keep(self) -> None:
        try:
            self._store.add(self._pending)
        except StoreUnavailable as error:
            since = self.refusing.since_at if self.refusing else self._clock.now()
            self.refusing = Refusing(since, error.reason)
            raise
        self.refusing = None

    def _leave_out_repeated(self) -> None:
        """At the first commit after a reconnect: messages without a time that the broker hands over again."""
        if self._stored_before is None:
            return
        flights = [a for a in self._pending if isinstance(a, Arrival) and a.flight is not None]
        again = repeated(self._stored_before, [(a.topic, a.flight or b"") for a in flights])
        known = {id(a) for a in flights[:again]}
        self._pending = [a for a in self._pending if id(a) not in known]
        if self._stored_before:
            self._store.forget_flights()
        self._stored_before = None


def _topic(message: MQTTMessage) -> str:
    try:
        return str(message.topic)
    except UnicodeDecodeError:
        return "(a topic that is not UTF-8)"


def _reject(passage: Passage, reason: str) -> Reject:
    return Reject(passage.topic, reason, passage.payload, passage.arrived_ms)
