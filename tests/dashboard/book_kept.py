"""A small invented wheel book in the records, for tests of pages."""

from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection

from collector.records.columns import new_id
from dashboard.wheels.bodies.doings import Moved, Weighing
from dashboard.wheels.bodies.make import MakeSheet
from dashboard.wheels.bodies.sheets import WheelSheet
from dashboard.wheels.entries import NewEntry, put
from dashboard.wheels.kinds.styles import STYLES
from tests.dashboard.conftest import NOW_AT


def enter(db: Connection, body: Any, days_ago: float = 0, *, now_at: datetime = NOW_AT, **about: Any) -> str:
    """One entry, so many days before now; its id is returned."""
    at = now_at - timedelta(days=days_ago)
    new = NewEntry(id=new_id(), done_at=at, body=body, typed_time=True, **about)
    return put(db, new, received_at=now_at, who="The keeper").id


def a_style(db: Connection, name: str = "tomme", *, now_at: datetime = NOW_AT) -> str:
    style_id = new_id()
    enter(db, STYLES[name], 400, now_at=now_at, style_id=style_id)
    return style_id


def a_make(db: Connection, days_ago: float = 60, *, now_at: datetime = NOW_AT, **fields: Any) -> str:
    make_id = new_id()
    on = (now_at - timedelta(days=days_ago)).date()
    enter(db, MakeSheet(**{"made_on": on, **fields}), days_ago, now_at=now_at, make_id=make_id)
    return make_id


def a_wheel(
    db: Connection, code: str = "24-07B", days_ago: float = 60, place_id: str | None = None,
    weights_g: tuple[float, ...] = (), *, now_at: datetime = NOW_AT, **fields: Any,
) -> str:  # fmt: skip
    """A wheel made so many days ago, put in its place that day, weighed every ten days from then on."""
    wheel_id = new_id()
    on = (now_at - timedelta(days=days_ago)).date()
    enter(db, WheelSheet(**{"code": code, "made_on": on, **fields}), days_ago, now_at=now_at, wheel_id=wheel_id)
    if place_id:
        enter(db, Moved(), days_ago, now_at=now_at, wheel_id=wheel_id, place_id=place_id)
    for number, weight_g in enumerate(weights_g):
        start: dict[str, Any] = {"start": "cave"} if number == 0 else {}
        enter(db, Weighing(scale_g=weight_g, **start), days_ago - 10 * number, now_at=now_at, wheel_id=wheel_id)
    return wheel_id
