"""Years of readings for the benches: caves whose probes speak every minute, written straight into the tables.

Intake has benches of its own; here only what is stored matters. Rollups and packs are made by the product's own code.
"""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
from sqlalchemy import insert

from collector.prepare import prepare
from collector.readings import packs
from collector.readings.model import Millis, Values
from collector.readings.rollups import rebuild
from collector.readings.store import SqliteReadings
from collector.records.columns import new_id, to_ms
from collector.records.engine import open_records
from collector.records.facts import Place, Placement, Target
from collector.records.life import sign
from collector.records.places import add_fact, add_place
from collector.records.tables import setting
from collector.settings import Settings

NOW_AT = datetime(2026, 3, 12, 14, 10, tzinfo=UTC)
NOW_MS = to_ms(NOW_AT)
DAY_MS, MINUTE_MS = 86_400_000, 60_000
FIELDS = (("temperature", "Cel", 12.0, 1.5), ("humidity", "%RH", 86.0, 4.0))


def make_house(folder: Path, caves: int, days: int, every_min: int = 1) -> tuple[Settings, list[str]]:
    """A prepared house with so many caves and days of readings; returns the ids of the caves."""
    settings = Settings(data=folder)
    prepare(settings)
    records = open_records(settings.records_at)
    since = NOW_AT - timedelta(days=days + 1)
    ids = []
    with records.begin() as db:
        for key, value in (("household.time_zone", "Europe/Zurich"), ("first_start.done", True)):
            db.execute(insert(setting), [{"key": key, "value": value}])
        for number in range(caves):
            ids.append(new_id())
            add_place(db, Place(ids[-1], f"Cave {number + 1}", "cave", position=number))
            add_fact(db, Target(new_id(), since, since, ids[-1], False, 10.0, 14.0, 80.0, 92.0))
            add_fact(db, Placement(new_id(), since, since, f"probe-{number}", "air", ids[-1]))
    sign(records, "collector", NOW_AT, {})
    records.dispose()
    store = SqliteReadings(settings.readings_path)
    for number in range(caves):
        _probe(store, number, days, every_min)
    with store.transaction() as db:
        while packs.make_due(db, NOW_MS):
            pass
    store.close()
    return settings, ids


def _probe(store: SqliteReadings, number: int, days: int, every_min: int) -> None:
    start = NOW_MS - days * DAY_MS
    taken = np.arange(start, NOW_MS, every_min * MINUTE_MS, dtype=np.int64)
    name = f"probe-{number}"
    with store.transaction() as db:
        db.execute(
            "INSERT INTO probe (name, topic, first_ms, last_ms, messages) VALUES (?,?,?,?,?)",
            (name, f"rindwatch/{name}/readings", start, NOW_MS, len(taken)),
        )
        for code in ("Cel", "%RH"):
            db.execute("INSERT OR IGNORE INTO unit (code) VALUES (?)", (code,))
        units = {code: unit for unit, code in db.execute("SELECT id, code FROM unit")}
        for field, code, level, swing in FIELDS:
            row = (name, field, field, code, start)
            cursor = db.execute("INSERT INTO channel (probe, field, quantity, unit, first_ms) VALUES (?,?,?,?,?)", row)
            channel = int(cursor.lastrowid or 0)
            rows = zip(taken.tolist(), _values(taken, level, swing, number).tolist(), strict=True)
            unit = units[code]
            db.executemany(
                "INSERT INTO reading VALUES (?,?,?,?,200,0)", ((channel, at, value, unit) for at, value in rows)
            )
            rebuild(db, channel, start, NOW_MS)


def _values(taken: Millis, level: float, swing: float, seed: int) -> Values:
    """A season, a cooler's saw of half an hour, and a probe's noise, to its two decimals."""
    minutes = taken / MINUTE_MS
    season = swing * np.sin(minutes / 525_600 * 2 * np.pi)
    saw = swing / 3 * ((minutes % 30) / 30 - 0.5)
    return np.round(level + season + saw + np.random.default_rng(seed).normal(0, swing / 20, len(taken)), 2)
