"""The lines by which the follower's process and the collector talk: wishes from there, answers from here; JSON.

A wish names a method of `LedgerWriter` with what it needs, or tells how the copying goes. Each is answered, so that
what was wished has happened, or has failed, before the follower goes on.
"""

import json
from collections.abc import Sequence
from dataclasses import asdict, astuple
from datetime import datetime
from typing import Any

from collector.errors import StoreUnavailable
from collector.readings.follower.spans import Owed, Span, Vanished
from collector.readings.follower.state import FollowerState
from collector.readings.follower.writing import LedgerWriter

TIMES = ("since_at", "copied_at", "complete_at")


def line_of(message: dict[str, Any]) -> str:
    """A message as one line, its end included."""
    return json.dumps(message, separators=(",", ":")) + "\n"


def moved(seq: int, owe: Sequence[Span]) -> dict[str, Any]:
    return {"do": "moved", "seq": seq, "owe": [astuple(span) for span in owe]}


def paid(owed: Owed, up_to_ms: int) -> dict[str, Any]:
    return {"do": "paid", "id": owed.id, "span": astuple(owed.span), "up_to_ms": up_to_ms}


def taken_back(gone: Sequence[Vanished]) -> dict[str, Any]:
    return {"do": "taken_back", "gone": [astuple(steps) for steps in gone]}


def set_aside(refused: Sequence[tuple[str, str]], at_ms: int) -> dict[str, Any]:
    return {"do": "set_aside", "refused": list(refused), "at_ms": at_ms}


def told(state: FollowerState) -> dict[str, Any]:
    times = {name: at.isoformat() if (at := getattr(state, name)) else None for name in TIMES}
    return {"do": "told", "state": asdict(state) | times}


def state_of(wish: dict[str, Any]) -> FollowerState:
    """How the copying goes, as it was told."""
    own = dict(wish["state"])
    return FollowerState(**own | {name: datetime.fromisoformat(own[name]) if own[name] else None for name in TIMES})


def fulfil(writer: LedgerWriter, wish: dict[str, Any]) -> None:
    """Do what was wished.

    Raises:
        StoreUnavailable: nothing has happened.
        ValueError: no such wish.
    """
    match wish["do"]:
        case "begin":
            writer.begin()
        case "moved":
            writer.moved(wish["seq"], [Span(*span) for span in wish["owe"]])
        case "paid":
            writer.paid(Owed(wish["id"], Span(*wish["span"])), wish["up_to_ms"])
        case "taken_back":
            writer.taken_back([Vanished(*steps) for steps in wish["gone"]])
        case "set_aside":
            writer.set_aside([(line, reason) for line, reason in wish["refused"]], wish["at_ms"])
        case unknown:
            raise ValueError(f"do must be a method of LedgerWriter, got {unknown!r}")


def trouble(error: StoreUnavailable) -> dict[str, Any]:
    """The answer to a wish that could not be fulfilled."""
    return {"path": str(error.path), "pending": error.pending, "reason": error.reason}


def raise_trouble(answer: dict[str, Any]) -> None:
    """
    Raises:
        StoreUnavailable: the answer says so.
    """
    if "reason" in answer:
        raise StoreUnavailable(answer["path"], answer["pending"], answer["reason"])
