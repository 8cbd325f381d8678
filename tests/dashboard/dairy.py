"""A small invented dairy in the records and the readings, for tests of pages."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, insert

from collector.readings.model import Arrival, Reject
from collector.readings.rollups import follow
from collector.readings.store import SqliteReadings
from collector.records.columns import new_id
from collector.records.facts import Calibration, Place, Placement, Target
from collector.records.places import add_fact, add_place
from collector.records.tables import warning
from collector.settings import Settings
from tests.dashboard.conftest import NOW_AT

LONG_AGO = NOW_AT - timedelta(days=300)


def a_place(db: Connection, name: str = "Lower fridge", kind: str = "cave", **more: Any) -> str:
    """A place; its id is returned."""
    own = Place(new_id(), name, kind, **more)
    add_place(db, own)
    return own.id


def a_target(db: Connection, place_id: str, from_at: datetime = LONG_AGO, **more: Any) -> Target:
    values: dict[str, Any] = {
        "temperature_low_c": 10.0, "temperature_high_c": 14.0, "humidity_low_pct": 82.0, "humidity_high_pct": 92.0,
    }  # fmt: skip
    own = Target(new_id(), from_at, from_at, place_id, **{**values, **more})
    add_fact(db, own)
    return own


def a_placement(db: Connection, probe: str, place_id: str | None, **more: Any) -> None:
    add_fact(db, Placement(new_id(), LONG_AGO, LONG_AGO, probe, more.pop("site", "air"), place_id, **more))


def a_calibration(db: Connection, probe: str, field: str, from_at: datetime = LONG_AGO, **more: Any) -> None:
    values: dict[str, Any] = {"offset": 0.0, "gain": 1.0, "uncertainty": 1.2, "method": "salt", **more}
    add_fact(db, Calibration(new_id(), from_at, from_at, probe, field, **values))


def a_warning(
    db: Connection, rule: str = "too_damp", hours_ago: float = 5, for_h: float | None = None, **more: Any
) -> str:
    """A warning that opened some hours ago and lasted for some; its id is returned."""
    opened_at = NOW_AT - timedelta(hours=hours_ago)
    row: dict[str, Any] = {
        "id": new_id(), "rule": rule, "severity": "warn", "opened_at": opened_at, "found_at": opened_at,
        "cleared_at": None if for_h is None else opened_at + timedelta(hours=for_h), "found_late": False,
        "facts": {
            "quantity": "humidity", "unit": "%RH", "side": "high", "limit": 92.0, "last": 95.0, "worst": 96.2,
            "heading": "away", "per_h": 0.6,
        },
        **more,
    }  # fmt: skip
    db.execute(insert(warning), [row])
    return str(row["id"])


def keep(settings: Settings, arrivals: Sequence[Arrival | Reject]) -> None:
    """Store messages as the collector would, rollups included; the store is made when it is not there yet."""
    store = SqliteReadings(settings.readings_path)
    store.add(arrivals)
    while follow(store):
        pass
    store.close()
