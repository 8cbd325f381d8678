"""The outgoing heartbeat: an address of the person's choice, fetched every few minutes while the collector is well.

Whoever runs that address notices when it stops: this machine cannot tell of its own death.
"""

from typing import Any

from collector.notify.message import Message
from collector.notify.web import Web, ask, refuse_trouble


class Heartbeat:
    """Options: url. The message's words stay here; only the fetch counts."""

    def __init__(self, name: str, options: dict[str, Any]) -> None:
        self._name, self._url = name, str(options["url"])

    def send(self, _message: Message) -> None:
        with Web() as session, ask(self._name, session, "GET", self._url) as response:
            refuse_trouble(self._name, response, self._url)
