"""Wheels that lose faster or slower than their kind, in the words of the round. Only reads."""

from datetime import datetime

from sqlalchemy import Connection

from dashboard.weights.kept import paces
from dashboard.wheels.weight.pace import AIR, COVERING, FASTER, Verdict


def pace_words(db: Connection, now_at: datetime) -> dict[str, str]:
    """By wheel, what is said of it; wheels like their kind are left out."""
    return {wheel_id: say(verdict) for wheel_id, verdict in paces(db, now_at).items()}


def say(verdict: Verdict) -> str:
    """A verdict in words: "dries 1.8 times as fast as its kind: drier air"."""
    faster = verdict.word == FASTER
    reasons = {AIR: "drier air" if faster else "damper air", COVERING: "less covered" if faster else "more covered"}
    why = reasons.get(verdict.reason, "neither air nor covering tells why")
    return f"dries {verdict.times:.1f} times as fast as its kind: {why}"
