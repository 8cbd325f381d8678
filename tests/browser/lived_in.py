"""A house that has been lived in for some days: places, targets, probes with readings up to now, warnings."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from math import sin, tau

from sqlalchemy import insert

from collector.readings.model import Arrival, Reject, Sample
from collector.readings.rollups import follow
from collector.readings.store import SqliteReadings
from collector.records.columns import new_id, to_ms
from collector.records.engine import open_records
from collector.records.facts import Place, Placement, Target
from collector.records.places import add_fact, add_place
from collector.records.tables import warning
from collector.settings import Settings

DAYS = 4
PACK = b'[{"bn":"cellar-front/","n":"temperature","u":"Cel","v":11.4},{"n":"humidity","u":"%RH","v":88.2}]'
JSON = b'{"air": {"temperature": 54.1, "rh": 71}, "made": 1772431200}'


@dataclass(frozen=True, slots=True)
class House:
    """What tests need to find in it again."""

    cave_id: str
    warning_id: str


def live_in(settings: Settings) -> House:
    """Fill a prepared data folder, once."""
    now_at = datetime.now(UTC)
    house = _settle(settings, now_at)
    store = SqliteReadings(settings.readings_path)
    store.add(_readings(now_at))
    store.add([Reject("shed/<b>lamp</b>", "there is no number in the JSON", b'{"state": "on"}', to_ms(now_at))])
    while follow(store):
        pass
    store.close()
    return house


def _settle(settings: Settings, now_at: datetime) -> House:
    long_ago = now_at - timedelta(days=60)
    cave, box, garden = new_id(), new_id(), new_id()
    records = open_records(settings.records_at)
    with records.begin() as db:
        add_place(db, Place(cave, "Upper cellar", "cave"))
        add_place(db, Place(box, "Lidded box", "box", cave, 1, 12.0, 92.0))
        add_place(db, Place(garden, "North wall", "outside", None, 2))
        add_fact(db, Target(new_id(), long_ago, long_ago, cave, False, 10, 13, 85, 92, 120, "natural", by="Keeper"))
        for probe, site, place in (("cellar-front", "air", cave), ("garden", "outside", garden)):
            add_fact(db, Placement(new_id(), long_ago, long_ago, probe, site, place, by="Keeper"))
        open_one = _warnings(db, cave, now_at)
    records.dispose()
    return House(cave, open_one)


def _warnings(db: object, cave: str, now_at: datetime) -> str:
    facts = {"quantity": "humidity", "unit": "%RH", "side": "low", "limit": 85.0, "last": 80.0, "worst": 78.5,
             "heading": "away", "per_h": -0.7}  # fmt: skip
    rows = [
        {"rule": "too_dry", "severity": "warn", "place_id": cave, "hours": 5.0, "for_h": None, "facts": facts},
        {"rule": "battery_low", "severity": "note", "probe": "cellar-front", "field": "battery", "hours": 40.0,
         "for_h": None, "facts": {"level": 12.0}},
        {"rule": "too_dry", "severity": "warn", "place_id": cave, "hours": 70.0, "for_h": 3.0, "facts": facts},
    ]  # fmt: skip
    first = ""
    for row in rows:
        opened_at = now_at - timedelta(hours=float(str(row.pop("hours"))))
        lasted = row.pop("for_h")
        own = {
            "id": new_id(), "opened_at": opened_at, "found_at": opened_at, "found_late": False,
            "cleared_at": None if lasted is None else opened_at + timedelta(hours=float(str(lasted))), **row,
        }  # fmt: skip
        db.execute(insert(warning), [own])  # type: ignore[attr-defined]
        first = first or str(own["id"])
    return first


def _readings(now_at: datetime) -> list[Arrival]:
    found: list[Arrival] = []
    for minutes in range(DAYS * 24 * 60, -1, -10):
        at_ms, day = to_ms(now_at - timedelta(minutes=minutes)), sin(minutes / (24 * 60) * tau)
        found.append(_arrival("cellar-front", at_ms, 11.4 + 0.3 * day, 88.2 + 2 * day, PACK))
        found.append(_arrival("garden", at_ms, 6 + 5 * day, 75 - 12 * day, b""))
    at_ms = to_ms(now_at)
    found.append(Arrival("shed/air", "shed/air", at_ms, (Sample("/air/temperature", at_ms, 54.1, "Cel", "temperature"),
                         Sample("/air/rh", at_ms, 71, "%RH", "humidity")), payload=JSON))  # fmt: skip
    return found


def _arrival(probe: str, at_ms: int, temperature_c: float, humidity_pct: float, payload: bytes) -> Arrival:
    samples = (
        Sample("temperature", at_ms, round(temperature_c, 2), "Cel", "temperature"),
        Sample("humidity", at_ms, round(humidity_pct, 2), "%RH", "humidity"),
        Sample("battery", at_ms, 64, "%EL", "battery"),
        Sample("signal", at_ms, -67, "dBm", "signal"),
    )
    return Arrival(probe, f"rindwatch/{probe}/readings", at_ms, samples, payload=payload)
