"""A channel whose sending happens in a short-lived process."""

import json
import subprocess
import sys
from typing import Any

from collector.errors import WarningNotSent
from collector.notify.message import Message

DEADLINE_S = 30.0  # our choice: a mail server may think for ten seconds, nothing honest takes longer than this
COMMAND = (sys.executable, "-m", "collector.notify.send")


class ChildChannel:
    """Sends by a process of its own; what that process prints beside its answer is thrown away, it may hold secrets."""

    def __init__(self, kind: str, name: str, options: dict[str, Any], deadline_s: float = DEADLINE_S) -> None:
        self._kind, self._name, self._options, self._deadline_s = kind, name, options, deadline_s

    def send(self, message: Message) -> None:
        self._run({"message": message.as_json()})

    def show(self, states: dict[str, dict[str, Any] | None]) -> None:
        """Publish what holds now for each place, where the kind can."""
        self._run({"states": states})

    def _run(self, job: dict[str, Any]) -> None:
        text = json.dumps(job | {"kind": self._kind, "name": self._name, "options": self._options})
        try:
            done = subprocess.run(
                COMMAND, input=text, capture_output=True, text=True, timeout=self._deadline_s, check=False
            )
        except subprocess.TimeoutExpired:
            raise WarningNotSent(self._name, f"no answer within {self._deadline_s:.0f} s") from None
        except OSError as error:
            raise WarningNotSent(self._name, f"the sender did not start: {error.strerror}") from error
        fate = _fate(done.stdout)
        if fate.get("sent") is not True:
            raise WarningNotSent(
                self._name,
                str(fate.get("reason", "the sender ended without an answer")),
                retry=bool(fate.get("retry", True)),
                wait_s=fate.get("wait_s"),
                gone=bool(fate.get("gone", False)),
            )


def _fate(text: str) -> dict[str, Any]:
    try:
        fate = json.loads(text)
    except ValueError:
        return {}
    return fate if isinstance(fate, dict) else {}
