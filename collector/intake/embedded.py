"""The embedded MQTT broker, for homes without one of their own; run as a process of its own.

It speaks MQTT 3.1.1 on one port, keeps the queue of a persistent session while that client is away, and forgets
everything when it ends. It cannot limit a probe to its own topics.
"""

import logging
import sys
from pathlib import Path

from collector.errors import SettingsWrong
from collector.intake.address import COLLECTOR_USER, PROBE_USER
from collector.settings import Settings, write_secret

MAX_PAYLOAD = 262_144  # bytes; the decoder refuses larger ones too
MAX_IN_FLIGHT = 500
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
listen = "{listen}:{port}"
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


def write_config(settings: Settings) -> Path:
    """The broker's configuration with generated passwords, in a file that only the owner may read."""
    path = settings.secrets_folder / "broker.toml"
    text = CONFIG.format(
        segment=SEGMENT_BYTES,
        listen=settings.listen,
        port=settings.mqtt_port,
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
    """Run the broker until it is told to stop.

    Raises:
        SettingsWrong: the broker's wheel does not exist for this machine, or its port is taken.
    """
    # The broker writes each message to its log at the level of errors.
    logging.getLogger("rumqttd").setLevel(logging.CRITICAL)
    try:
        from iotcore.iotcore import IotCoreBroker
    except ImportError as error:
        reason = "the embedded broker has no build for this machine; name one, for example Mosquitto"
        raise SettingsWrong("RINDWATCH_BROKER", reason) from error
    broker = IotCoreBroker(config_path=str(write_config(settings)))
    try:
        broker.check_ports()
    except OSError as error:
        raise SettingsWrong("RINDWATCH_MQTT_PORT", f"{settings.mqtt_port} is taken by another program") from error
    broker.run_forever()


if __name__ == "__main__":
    run(Settings())
    sys.exit(0)
