"""The sender: one message as JSON on standard input, its fate as JSON on standard output.

It runs as a process of its own, because what services need stays in memory for good once loaded, and because only a
process can be ended for certain when the other side never answers.
"""

import json
import sys
from typing import Any

from collector.errors import WarningNotSent
from collector.notify.message import Message
from collector.notify.sending import MAKERS


def carry_out(job: dict[str, Any]) -> dict[str, Any]:
    """Send the message of a job, or show its states; says how it went, never with a secret."""
    channel = MAKERS[job["kind"]](job["name"], job["options"])
    try:
        if "states" in job:
            channel.show(job["states"])  # type: ignore[attr-defined]
        else:
            channel.send(Message.from_json(job["message"]))
    except WarningNotSent as error:
        return {
            "sent": False, "reason": error.reason, "retry": error.retry, "wait_s": error.wait_s, "gone": error.gone,
        }  # fmt: skip
    return {"sent": True}


def main() -> None:
    fate = carry_out(json.load(sys.stdin))
    json.dump(fate, sys.stdout)


if __name__ == "__main__":
    main()
