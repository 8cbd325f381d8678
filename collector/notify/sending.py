"""Makes a channel of its kind and options; each kind's module, and what it needs, is loaded when it is used."""

from collections.abc import Callable
from typing import Any

from collector.notify.message import Channel

Maker = Callable[[str, dict[str, Any]], Channel]


def _service(name: str, options: dict[str, Any]) -> Channel:
    from collector.notify.services import Service

    return Service(name, options)


def _push(name: str, options: dict[str, Any]) -> Channel:
    from collector.notify.push import Push

    return Push(name, options)


def _webhook(name: str, options: dict[str, Any]) -> Channel:
    from collector.notify.webhook import Webhook

    return Webhook(name, options)


def _broker(name: str, options: dict[str, Any]) -> Channel:
    from collector.notify.broker_channel import BrokerChannel

    return BrokerChannel(name, options)


def _heartbeat(name: str, options: dict[str, Any]) -> Channel:
    from collector.notify.heartbeat import Heartbeat

    return Heartbeat(name, options)


MAKERS: dict[str, Maker] = {
    "apprise": _service,
    "push": _push,
    "webhook": _webhook,
    "mqtt": _broker,
    "heartbeat": _heartbeat,
}
