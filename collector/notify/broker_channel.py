"""Other devices in the house: an event for each message, and what holds now for each place, on the probes' broker."""

import json
from collections.abc import Iterable
from pathlib import Path
from threading import Event
from typing import Any

from paho.mqtt.client import Client, MQTTMessageInfo
from paho.mqtt.enums import CallbackAPIVersion, MQTTErrorCode, MQTTProtocolVersion

from collector.errors import WarningNotSent
from collector.intake.address import OWN_SPEECH
from collector.notify.message import Message

EVENT_TOPIC = OWN_SPEECH + "event"
STATE_TOPIC = OWN_SPEECH + "state/"
PATIENCE_S = 8.0


class BrokerChannel:
    """Options: host, port, user, password, tls, ca_file, version; states: what holds now, by place id.

    A message goes out as an event, not retained. The states are retained, one topic a place, so that a device that
    starts later knows at once; a state of None takes the topic away.
    """

    def __init__(self, name: str, options: dict[str, Any]) -> None:
        self._name, self._options = name, options

    def send(self, message: Message) -> None:
        event = {k: v for k, v in message.as_json().items() if k != "problems"} | {"problems": list(message.problems)}
        self._publish([(EVENT_TOPIC, json.dumps(event, ensure_ascii=False), False)])

    def show(self, states: dict[str, dict[str, Any] | None]) -> None:
        """Publish what holds now, by place id.

        Raises:
            WarningNotSent: the broker did not take all of it.
        """
        self._publish(
            (STATE_TOPIC + place_id, "" if state is None else json.dumps(state, ensure_ascii=False), True)
            for place_id, state in states.items()
        )

    def _publish(self, items: Iterable[tuple[str, str, bool]]) -> None:
        client, answered, refused = self._client()
        try:
            client.connect(self._options["host"], int(self._options["port"]), keepalive=20)
            client.loop_start()
            if not answered.wait(PATIENCE_S) or refused:
                raise WarningNotSent(self._name, f"the broker {refused[0] if refused else 'does not answer'}")
            sent = [client.publish(topic, payload, qos=1, retain=retain) for topic, payload, retain in items]
            for info in sent:
                self._wait(info)
        except (OSError, ValueError) as error:
            raise WarningNotSent(self._name, f"no connection to the broker: {type(error).__name__}") from None
        finally:
            client.disconnect()
            client.loop_stop()

    def _wait(self, info: MQTTMessageInfo) -> None:
        try:
            info.wait_for_publish(PATIENCE_S)
            done = info.is_published()
        except (RuntimeError, ValueError):
            done = False
        if info.rc != MQTTErrorCode.MQTT_ERR_SUCCESS or not done:
            raise WarningNotSent(self._name, "the broker did not acknowledge the message")

    def _client(self) -> tuple[Client, Event, list[str]]:
        own = self._options
        protocol = MQTTProtocolVersion.MQTTv5 if own.get("version") == "5" else MQTTProtocolVersion.MQTTv311
        client = Client(CallbackAPIVersion.VERSION2, protocol=protocol)
        client.connect_timeout = PATIENCE_S
        if own.get("user"):
            client.username_pw_set(own["user"], own.get("password"))
        if own.get("tls"):
            client.tls_set(ca_certs=str(Path(own["ca_file"])) if own.get("ca_file") else None)
        answered, refused = Event(), []  # type: tuple[Event, list[str]]

        def on_connect(_client: Any, _data: Any, _flags: Any, reason: Any, _properties: Any) -> None:
            if reason.is_failure:
                refused.append(f"refuses us: {reason}")
            answered.set()

        client.on_connect = on_connect
        return client, answered, refused
