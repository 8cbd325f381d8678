"""The collector's place at the embedded broker, kept for it from the broker's first moment.

The embedded broker begins with nothing, and throws away what nobody has subscribed to, although it tells the probe
that it has it. So the broker's own process subscribes in the collector's name before it lets anybody in: what probes
send before the collector is back waits for it, as it does whenever the collector is away.
"""

import json
import logging
import secrets
import time
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

from paho.mqtt.client import Client
from paho.mqtt.enums import CallbackAPIVersion, MQTTErrorCode

from collector.errors import BrokerUnavailable
from collector.intake.address import COLLECTOR_ID, OWN_SPEECH, OWN_TOPICS, BrokerAddress
from collector.settings import Settings

log = logging.getLogger(__name__)

BEGAN_TOPIC = f"{OWN_SPEECH}began"  # first in the queue of a new broker: it hands nothing over again
PATIENCE_S = 20.0
AGAIN_S = 0.01


def listens_to_path(settings: Settings) -> Path:
    """Where the collector writes down what it listens to; it can be made again, so no backup has it."""
    return settings.data / "cache" / "listens-to.json"


def remember(path: Path, filters: Sequence[str]) -> None:
    """Write down the topic filters for the broker's next start, whole or not at all."""
    path.parent.mkdir(parents=True, exist_ok=True)
    half = path.with_name(path.name + ".part")
    half.write_text(json.dumps(list(filters)))
    half.replace(path)


def remembered(path: Path) -> list[str]:
    """The filters that the collector had last; our own alone before its first start or when the file is damaged."""
    with suppress(OSError, ValueError):
        found = json.loads(path.read_text())
        if isinstance(found, list) and found and all(isinstance(topic, str) and topic for topic in found):
            return found
    return [OWN_TOPICS]


class Standing:
    """Takes the collector's session at a broker that has just begun, and leaves it there.

    Args:
        address: with the collector's name and password. filters: what the session subscribes to.
    """

    def __init__(self, address: BrokerAddress, filters: Sequence[str]) -> None:
        self._address, self._filters, self._done = address, filters, False
        # Nothing that comes back to us here is acknowledged: it is for the collector.
        self._client = Client(CallbackAPIVersion.VERSION2, client_id=COLLECTOR_ID, clean_session=False, manual_ack=True)
        self._client.username_pw_set(address.user, address.password.get_secret_value() if address.password else None)
        self._client.on_connect = self._on_connect
        self._client.on_publish = self._on_publish

    def take(self, patience_s: float = PATIENCE_S) -> None:
        """Knock until the broker lets us in, and subscribe.

        Raises:
            BrokerUnavailable: it did not take the session in time.
        """
        until = time.monotonic() + patience_s
        try:
            while not self._done:
                if not self._client.is_connected() or self._client.loop(0.1) != MQTTErrorCode.MQTT_ERR_SUCCESS:
                    self._knock(until)
                if time.monotonic() > until:
                    raise BrokerUnavailable(str(self._address), "it does not answer")
        except (OSError, ValueError) as error:
            raise BrokerUnavailable(str(self._address), str(error)) from error
        self._client.disconnect()
        log.info("standing_taken filters=%d", len(self._filters))

    def _knock(self, until: float) -> None:
        while True:
            try:
                self._client.connect(self._address.host, self._address.port)
                break
            except ConnectionRefusedError:
                if time.monotonic() > until:
                    raise
                time.sleep(AGAIN_S)
        answered = time.monotonic() + 1.0
        while not self._client.is_connected() and time.monotonic() < answered:
            self._client.loop(0.1)

    def _on_connect(self, client: Client, _data: Any, _flags: Any, reason: Any, _properties: Any) -> None:
        if not reason.is_failure:
            client.subscribe([(topic, 1) for topic in self._filters])
            client.publish(BEGAN_TOPIC, secrets.token_bytes(12), qos=1)

    def _on_publish(self, *_: Any) -> None:
        self._done = True
