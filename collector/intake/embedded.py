"""The embedded MQTT broker, for homes without one of their own; run as a process of its own.

It speaks MQTT 3.1.1 on one port, keeps the queue of a persistent session while that client is away, and forgets
everything when it ends. The collector's session is there from its first moment (standing.py), and the house reaches it
through a door that opens after that (door.py). It cannot limit a probe to its own topics; what it holds in memory is
bounded (ceiling.py).
"""

import asyncio
import errno
import logging
import random
import socket
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from collector.errors import SettingsWrong
from collector.intake.address import COLLECTOR_USER, PROBE_USER, broker_address
from collector.intake.ceiling import MOST_MB, end_when_full
from collector.intake.door import LOOPBACK, Hall, bound, keep_open
from collector.intake.short_way import forget_short_way, keep_short_way
from collector.intake.standing import Standing, listens_to_path, remembered
from collector.settings import Settings, write_secret

if TYPE_CHECKING:
    from iotcore.iotcore import IotCoreBroker

log = logging.getLogger(__name__)

MAX_PAYLOAD = 262_144  # bytes; the decoder refuses larger ones too
MAX_IN_FLIGHT = 500
INNER_PORTS = range(20_000, 32_000)
OPEN_FILES = 4_096
SEGMENT_BYTES = 4_194_304  # of the queue; ten of them hold some 200,000 messages of three readings
CONFIG = """\
id = 0
[router]
id = 0
max_connections = 1000
max_outgoing_packet_count = 500
max_segment_size = {segment}
max_segment_count = 10
[v4.1]
name = "v4-1"
listen = "127.0.0.1:{port}"
next_connection_delay_ms = 1
[v4.1.connections]
connection_timeout_ms = 10000
max_payload_size = {payload}
max_inflight_count = {flight}
dynamic_filters = true
[v4.1.connections.auth]
{collector} = "{collector_password}"
{probe} = "{probe_password}"
"""


def write_config(settings: Settings, port: int) -> Path:
    """The broker's configuration with generated passwords, in a file that only the owner may read."""
    path = settings.secrets_folder / "broker.toml"
    text = CONFIG.format(
        segment=SEGMENT_BYTES,
        port=port,
        payload=MAX_PAYLOAD,
        flight=MAX_IN_FLIGHT,
        collector=COLLECTOR_USER,
        collector_password=settings.secret("collector-password").get_secret_value(),
        probe=PROBE_USER,
        probe_password=settings.secret("probe-password").get_secret_value(),
    )
    write_secret(path, text)
    return path


def run(settings: Settings) -> None:
    """Run the broker until it is told to stop; it answers the house once the collector's session is there.

    Raises:
        SettingsWrong: the broker's wheel does not exist for this machine, or its port is taken.
        BrokerUnavailable: it does not answer its own process.
    """
    # The broker writes each message to its log at the level of errors.
    logging.getLogger("rumqttd").setLevel(logging.CRITICAL)
    for chatty in ("tracing.span", "iotcore.broker"):
        logging.getLogger(chatty).setLevel(logging.WARNING)
    try:
        from iotcore.iotcore import IotCoreBroker
    except ImportError as error:
        reason = "the embedded broker has no build for this machine; name one, for example Mosquitto"
        raise SettingsWrong("RINDWATCH_BROKER", reason) from error
    forget_short_way(settings)
    with _port_said(settings), bound(settings.listen, settings.mqtt_port) as held:
        _allow_many_connections()
        inner = _inner_port()
        broker = IotCoreBroker(config_path=str(write_config(settings, inner)))
        asyncio.run(_serve(broker, held, inner, settings))


@contextmanager
def _port_said(settings: Settings) -> Iterator[None]:
    """Tell a port that cannot be had by the name of its setting."""
    try:
        yield
    except OSError as error:
        if error.errno == errno.EADDRINUSE:
            raise SettingsWrong("RINDWATCH_MQTT_PORT", f"{settings.mqtt_port} is taken by another program") from error
        where = f"{settings.listen}, port {settings.mqtt_port}"
        raise SettingsWrong("RINDWATCH_LISTEN", f"cannot listen at {where}: {error.strerror}") from error


async def _serve(broker: "IotCoreBroker", held: socket.socket, inner: int, settings: Settings) -> None:
    loop, over = asyncio.get_running_loop(), asyncio.Event()

    def work() -> None:
        try:
            broker.run_forever()
        finally:
            loop.call_soon_threadsafe(over.set)

    threading.Thread(target=work, name="broker", daemon=True).start()
    address = replace(broker_address(settings), port=inner)
    await asyncio.to_thread(Standing(address, remembered(listens_to_path(settings))).take)
    keep_short_way(settings, inner)
    log.info("broker_open listen=%s port=%d", settings.listen, settings.mqtt_port)
    watching = asyncio.create_task(end_when_full(MOST_MB))
    await keep_open(held, Hall(inner), over)
    watching.cancel()


def _inner_port() -> int:
    """A free port outside the range from which systems take the near end of a connection.

    Inside it, a program that knocks at a port nobody listens to yet may be given that very port and reach itself.
    """
    for port in random.sample(INNER_PORTS, 100):
        with socket.socket() as tried:
            try:
                tried.bind((LOOPBACK, port))
            except OSError:
                continue
            return port
    raise SettingsWrong("RINDWATCH_MQTT_PORT", "this machine has no free port left for the broker")


def _allow_many_connections() -> None:
    """As many open files as the system lets us: each caller takes three."""
    try:
        import resource
    except ImportError:  # Windows has no such limit
        return
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    wanted = OPEN_FILES if hard == resource.RLIM_INFINITY else min(OPEN_FILES, hard)
    if soft != resource.RLIM_INFINITY and soft < wanted:
        resource.setrlimit(resource.RLIMIT_NOFILE, (wanted, hard))


if __name__ == "__main__":
    run(Settings())
    sys.exit(0)
