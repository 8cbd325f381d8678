"""The MQTT connection: one thread that reads, commits and only then acknowledges, in order."""

import logging
import select
import socket
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from threading import Event
from typing import Any, Protocol

from paho.mqtt.client import Client, ConnectFlags, DisconnectFlags, MQTTMessage
from paho.mqtt.enums import CallbackAPIVersion, MQTTErrorCode, MQTTProtocolVersion
from paho.mqtt.packettypes import PacketTypes
from paho.mqtt.properties import Properties
from paho.mqtt.reasoncodes import ReasonCode
from tenacity import wait_exponential_jitter

from collector.database_code import database_code
from collector.errors import BrokerUnavailable, StoreUnavailable
from collector.intake.address import COLLECTOR_ID, BrokerAddress

log = logging.getLogger(__name__)

BATCH = 200  # messages in one commit at most; measured in tests/bench/bench_intake.py
LONGEST_PATIENCE_S = 5.0  # our choice: what a broker hands over again comes first; a steady stream never pauses
LARGEST_WINDOW = 5_000  # more than any broker hands over without an acknowledgement
SESSION_EXPIRY_S = 30 * 86_400
KEEP_ALIVE_S = 30
QUIET_S = 0.5  # how long the loop sleeps when nothing comes
PATIENCE = wait_exponential_jitter(initial=1, max=60)
# A broker on this machine costs nothing to ask, and what probes send it before we are back it may forget.
NEAR_PATIENCE = wait_exponential_jitter(multiplier=0.2, max=2, jitter=0.2)
NEAR_HOSTS = ("127.0.0.1", "::1", "localhost")
CONNECT_TIMEOUT_S = 10


class Handler(Protocol):
    """What the connection tells the intake, and asks of it.

    `commit` returns the packet ids that may be acknowledged, in order of arrival; it raises StoreUnavailable when the
    store took nothing. `lost` says that the broker will hand over again whatever was not acknowledged.
    """

    def connected(self, *, session_present: bool) -> None: ...

    def take(self, message: MQTTMessage) -> None: ...

    def commit(self) -> Sequence[tuple[int, int]]: ...

    def stopped(self) -> None: ...

    @property
    def pending(self) -> int: ...

    @property
    def patience_s(self) -> float: ...

    @property
    def filters(self) -> Sequence[str]: ...

    def marker(self) -> tuple[str, bytes]: ...

    def lost(self, reason: str) -> None: ...


@contextmanager
def _sent_together(sock: Any) -> Iterator[None]:
    """Have the system gather small packets into large ones where it can: some 200 acknowledgements go out at once."""
    cork = getattr(socket, "TCP_CORK", None)  # Linux alone has it
    if cork is None or sock is None:
        yield
        return
    sock.setsockopt(socket.IPPROTO_TCP, cork, 1)
    try:
        yield
    finally:
        with suppress(OSError):  # the connection may have broken meanwhile; reading from it says so
            sock.setsockopt(socket.IPPROTO_TCP, cork, 0)


class Attempt:
    """The number of a failed try, in the form that the waiting rule asks for."""

    def __init__(self, number: int) -> None:
        self.attempt_number = number


class Connection:
    """A persistent session with manual acknowledgement.

    One thread reads and commits: measured against two threads that hand messages over, one is twice as fast.

    Args:
        port: asked before each try, where it is another than the address tells.
    """

    def __init__(
        self,
        address: BrokerAddress,
        handler: Handler,
        client_id: str = COLLECTOR_ID,
        port: Callable[[], int] | None = None,
    ) -> None:
        self._address, self._handler = address, handler
        self._port = port or (lambda: address.port)
        self._v5 = address.version == "5"
        self._again = NEAR_PATIENCE if address.host in NEAR_HOSTS else PATIENCE
        protocol = MQTTProtocolVersion.MQTTv5 if self._v5 else MQTTProtocolVersion.MQTTv311
        session: Mapping[str, Any] = {} if self._v5 else {"clean_session": False}
        self._client = Client(
            CallbackAPIVersion.VERSION2, client_id=client_id, protocol=protocol, manual_ack=True, **session
        )
        self._client.connect_timeout = CONNECT_TIMEOUT_S
        self._client.on_connect = self._on_connect
        self._client.on_message = self._on_message
        self._client.on_subscribe = self._on_subscribe
        self._client.on_disconnect = self._on_disconnect
        # With somebody told of waiting bytes, the library collects acknowledgements instead of sending each at once.
        self._client.on_socket_register_write = lambda *_: None
        self._refused: str | None = None
        self._up = False
        self._subscribed: list[str] = []
        self._stop = Event()
        if address.user is not None:
            self._client.username_pw_set(
                address.user, address.password.get_secret_value() if address.password else None
            )
        if address.tls:
            self._client.tls_set(ca_certs=str(address.ca_file) if address.ca_file else None)

    def run(self, stop: Event, wait: Callable[[float], object] | None = None) -> None:
        """Stay connected until told to stop; a broker that is away is tried again with growing waits."""
        self._stop = stop
        wait = wait or stop.wait
        failures = 0
        while not stop.is_set():
            try:
                self._connect()
                failures = 0
                self._serve(stop)
            except BrokerUnavailable as error:
                failures += 1
                self._handler.lost(error.reason)
                wait(self._again(Attempt(failures)))  # type: ignore[arg-type]
        self._say_goodbye()

    def _say_goodbye(self) -> None:
        """Leave in order, so that the broker has seen every acknowledgement."""
        if self._client.disconnect() == MQTTErrorCode.MQTT_ERR_SUCCESS and not self._client.want_write():
            self._handler.stopped()

    def _connect(self) -> None:
        self._refused, self._up = None, False
        try:
            if self._v5:
                properties = Properties(PacketTypes.CONNECT)  # type: ignore[no-untyped-call]
                properties.SessionExpiryInterval = SESSION_EXPIRY_S
                self._client.connect(
                    self._address.host, self._port(), KEEP_ALIVE_S, clean_start=False, properties=properties
                )
            else:
                self._client.connect(self._address.host, self._port(), KEEP_ALIVE_S)
        except (OSError, ValueError) as error:
            raise BrokerUnavailable(str(self._address), str(error) or type(error).__name__) from error
        deadline = time.monotonic() + CONNECT_TIMEOUT_S
        while not self._up:
            self._step(0.1)
            if self._refused or time.monotonic() > deadline:
                raise BrokerUnavailable(str(self._address), self._refused or "it does not answer")

    def _serve(self, stop: Event) -> None:
        began = quiet_since = time.monotonic()
        while not stop.is_set():
            patient = time.monotonic() - began < LONGEST_PATIENCE_S
            before, patience_s = self._handler.pending, self._handler.patience_s if patient else 0.0
            self._step(patience_s / 10 if before else QUIET_S)
            idle = self._handler.pending == before
            quiet_since = quiet_since if idle else time.monotonic()
            rested = before and idle and time.monotonic() - quiet_since >= patience_s
            if rested or self._handler.pending >= (LARGEST_WINDOW if patience_s else BATCH):
                self._commit()
            if not self._up:
                raise BrokerUnavailable(str(self._address), self._refused or "the connection broke")
            self._follow_filters()
        self._commit()

    def _step(self, patience_s: float) -> None:
        """Read what is there; sleep only when nothing is."""
        sock = self._client.socket()
        if sock is None:
            self._up, self._refused = False, self._refused or "the connection broke"
            return
        buffered = getattr(sock, "pending", lambda: 0)()
        if not buffered:
            writers = [sock] if self._client.want_write() else []
            readable, writable, _ = select.select([sock], writers, [], patience_s)
            if writable:
                self._ok(self._client.loop_write())
            if not readable:
                self._ok(self._client.loop_misc())
                return
        self._drain()

    def _drain(self) -> None:
        """Read until nothing more is there or a batch is full: asking the system before each message is slow."""
        while True:
            before = self._handler.pending
            self._ok(self._client.loop_read())
            if not (self._up and before < self._handler.pending < BATCH):
                return

    def _ok(self, code: MQTTErrorCode) -> None:
        if code != MQTTErrorCode.MQTT_ERR_SUCCESS and self._up:
            self._up, self._refused = False, self._refused or "the connection broke"

    def _commit(self) -> None:
        """Acknowledge what the store has committed, in the order in which it came.

        While the store does not take anything, nothing more is read: the broker keeps what it has.
        """
        failures = 0
        while self._up:
            try:
                acknowledged = self._handler.commit()
                with _sent_together(self._client.socket()):
                    for packet_id, qos in acknowledged:
                        self._client.ack(packet_id, qos)
                    self._ok(self._client.loop_write())
                return
            except StoreUnavailable as error:
                failures += 1
                code = database_code(error)
                log.error("store_unavailable reason=%s code=%s pending=%d", error.reason, code, error.pending)
                self._rest(PATIENCE(Attempt(failures)))  # type: ignore[arg-type]

    def _rest(self, wait_s: float) -> None:
        """Keep the connection alive without taking messages in."""
        until = time.monotonic() + wait_s
        while self._up and not self._stop.is_set() and time.monotonic() < until:
            self._stop.wait(QUIET_S)
            self._ok(self._client.loop_misc())
        if self._stop.is_set():
            self._up, self._refused = False, "stopping"

    def _on_connect(
        self, client: Client, _data: Any, flags: ConnectFlags, reason: ReasonCode, _properties: Properties | None
    ) -> None:
        if reason.is_failure:
            self._refused = str(reason)
            return
        self._up = True
        self._handler.connected(session_present=flags.session_present)
        self._subscribed = list(self._handler.filters)
        client.subscribe([(topic, 1) for topic in self._subscribed])

    def _follow_filters(self) -> None:
        """Subscribe to what was added and leave what was taken back since."""
        wanted = self._handler.filters
        new = [topic for topic in wanted if topic not in self._subscribed]
        gone = [topic for topic in self._subscribed if topic not in wanted]
        if new:
            self._client.subscribe([(topic, 1) for topic in new])
        if gone:
            self._client.unsubscribe(gone)
        if new or gone:
            self._subscribed = list(wanted)

    def _on_subscribe(
        self, client: Client, _data: Any, _mid: int, reasons: list[ReasonCode], _properties: Properties | None
    ) -> None:
        for reason in reasons:
            if reason.is_failure:
                log.warning("subscription_refused reason=%s", reason)
        topic, payload = self._handler.marker()
        client.publish(topic, payload, qos=1)

    def _on_message(self, _client: Client, _data: Any, message: MQTTMessage) -> None:
        self._handler.take(message)

    def _on_disconnect(
        self, _client: Client, _data: Any, _flags: DisconnectFlags, reason: ReasonCode, _properties: Properties | None
    ) -> None:
        self._up, self._refused = False, self._refused or str(reason)
