"""Entries, wheels and days for tests of the wheel book, with sensible defaults."""

import itertools
import uuid
from datetime import UTC, datetime, timedelta
from typing import Any

from dashboard.wheels.bodies.base import Body
from dashboard.wheels.bodies.doings import Care, Covered, Moved, Weighing
from dashboard.wheels.bodies.sheets import WheelSheet
from dashboard.wheels.entries import NewEntry
from dashboard.wheels.model import Entry

FIRST_DAY = datetime(2025, 3, 1, 8, tzinfo=UTC)


def day(number: float, hour: float = 0) -> datetime:
    """Eight o'clock on a day, the first day being 0, and so many hours later."""
    return FIRST_DAY + timedelta(days=number, hours=hour)


def an_id(at: datetime = FIRST_DAY) -> str:
    """A UUIDv7 (RFC 9562, section 5.7) whose random part counts up, so that a test runs the same way twice."""
    value = int(at.timestamp() * 1_000) << 80 | 0x7 << 76 | 0x2 << 62 | next(_COUNTER)
    return str(uuid.UUID(int=value))


_COUNTER = itertools.count(1)


WHEEL, OTHER, MAKE, SHELF, CELLAR, BOARD, STYLE = (an_id(day(-30 + n)) for n in range(7))


def new(body: Body, at: float = 0, hour: float = 0, *, wheel: str | None = WHEEL, **more: Any) -> NewEntry:
    """An entry as a phone sends it, a day number and an hour after eight."""
    when = day(at, hour)
    return NewEntry(**{"id": an_id(when), "wheel_id": wheel, "done_at": when, "body": body, **more})


def noted(body: Any, at: float = 0, hour: float = 0, *, wheel: str | None = WHEEL, **more: Any) -> Entry:
    """An entry as the book holds it."""
    when = day(at, hour)
    values = {"id": an_id(when), "kind": body.kind, "happened_at": when, "done_at": when, "received_at": when}
    return Entry(**{**values, "body": body, "wheel_id": wheel, **more})


def a_wheel(code: str = "24-07B", **fields: Any) -> WheelSheet:
    return WheelSheet(**{"code": code, "made_on": FIRST_DAY.date(), **fields})


def weighed(scale_g: float, **more: Any) -> Weighing:
    return Weighing(scale_g=scale_g, **more)


def turned(**more: Any) -> Care:
    return Care(care="turned", **more)


def moved(**more: Any) -> Moved:
    return Moved(**more)


def covered(covering: str, **more: Any) -> Covered:
    return Covered(covering=covering, **more)
