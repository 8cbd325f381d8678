"""The other end: subscribes, decodes with the collector's decoder, and keeps a message once."""

import threading
from dataclasses import dataclass, field

from paho.mqtt.client import Client, MQTTMessage
from paho.mqtt.enums import CallbackAPIVersion

from collector.intake.payloads import Decoded, decode
from tests.firmware_notes.end_to_end.broker import NAME, PASSWORD, USER, Broker
from tests.firmware_notes.end_to_end.world import World

MARKER = "test/marker"
HOUSE_TALK = "rindwatch/-/"  # what the collector says to itself


@dataclass(frozen=True, slots=True)
class Got:
    """One reading as it came: the number that tells which it is, its time, and whether that is a bound."""

    number: int
    taken_at: float
    at_the_latest: bool
    relative: bool


@dataclass(slots=True)
class Receiver:
    """`readings` holds each message once, by boot id and sequence number; `repeated` counts the others."""

    broker: Broker
    world: World
    readings: list[Got] = field(default_factory=list)
    statuses: list[Decoded] = field(default_factory=list)
    repeated: int = 0
    troubles: list[str] = field(default_factory=list)
    _seen: set[tuple[str, int]] = field(default_factory=set)
    _marks: threading.Semaphore = field(default_factory=lambda: threading.Semaphore(0))
    _client: Client = field(init=False)

    def __post_init__(self) -> None:
        subscribed = threading.Event()
        self._client = Client(CallbackAPIVersion.VERSION2, client_id="receiver", clean_session=False)
        self._client.username_pw_set(USER, PASSWORD)
        self._client.tls_set(ca_certs=str(self.broker.ca_pem))
        self._client.on_message = self._on_message
        self._client.on_subscribe = lambda *_: subscribed.set()
        self._client.connect(NAME, self.broker.port)
        self._client.loop_start()
        self._client.subscribe([("rindwatch/#", 1), (MARKER, 1)])
        assert subscribed.wait(10)

    def catch_up(self) -> None:
        """Returns once everything that the broker had by now has come."""
        self._client.publish(MARKER, b"", qos=0)
        assert self._marks.acquire(timeout=10), "the broker went silent"

    def close(self) -> None:
        self._client.disconnect()
        self._client.loop_stop()

    def _on_message(self, _client: Client, _data: object, message: MQTTMessage) -> None:
        if message.topic == MARKER:
            self._marks.release()
        if message.topic == MARKER or message.topic.startswith(HOUSE_TALK):
            return
        try:
            self._take(decode(message.topic, bytes(message.payload)), bytes(message.payload))
        except Exception as error:  # paho would end its thread silently
            self.troubles.append(repr(error))

    def _take(self, decoded: Decoded, payload: bytes) -> None:
        if decoded.refused:
            self.troubles.append(f"refused: {decoded.refused}")
        if decoded.status is not None:
            self.statuses.append(decoded)
            return
        assert decoded.boot is not None
        assert decoded.seq is not None
        if (decoded.boot, decoded.seq) in self._seen:
            self.repeated += 1
            return
        self._seen.add((decoded.boot, decoded.seq))
        by_field = {reading.field: reading for reading in decoded.readings}
        if "temperature" in by_field:
            reading = by_field["temperature"]
            absolute, relative = reading.time.absolute_ms, reading.time.relative_ms
            taken_at = absolute / 1000 if absolute is not None else self.world.true + (relative or 0) / 1000
            number = round(reading.value * 100)
            self.readings.append(Got(number, taken_at, b'"at the latest"' in payload, absolute is None))
