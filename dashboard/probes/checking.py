"""A check of a probe that is under way: kept in the records' settings, so that it outlives a walk and a restart."""

import hashlib
from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from typing import Any

from sqlalchemy import Connection, delete, insert, select

from collector.calibration.fit import Point
from collector.calibration.result import kept, points_of
from collector.records.tables import setting

KEY = "check."


@dataclass(frozen=True, slots=True)
class Pending:
    """What was begun and not kept yet.

    Args:
        field: of the probe, which is checked. thermometer: (probe, field) that lies in the jar.
        salt: in the closed jar now, "" for none. since_ms: when the jar was closed, or both were hung side by side.
        beside: (probe, field) of the checked one, () for none.
        points: taken so far. salts: over which salt each was.
    """

    field: str
    thermometer: tuple[str, ...] = ()
    salt: str = ""
    since_ms: int = 0
    beside: tuple[str, ...] = ()
    points: tuple[Point, ...] = ()
    salts: tuple[str, ...] = ()

    def taken(self, point: Point) -> "Pending":
        """With one point more; the jar is open again."""
        return replace(self, salt="", since_ms=0, points=(*self.points, point), salts=(*self.salts, self.salt))

    def without(self, number: int) -> "Pending":
        """Without the point of that number; one that is not there changes nothing."""
        left = [i for i in range(len(self.points)) if i != number]
        return replace(
            self, points=tuple(self.points[i] for i in left), salts=tuple(self.salts[i] for i in left)
        )  # fmt: skip


def load(db: Connection, probe: str) -> Pending | None:
    """The check of a probe that is under way."""
    row = db.execute(select(setting.c.value).where(setting.c.key == _key(probe))).first()
    return None if row is None else _value(row[0])


def save(db: Connection, probe: str, pending: Pending) -> None:
    drop(db, probe)
    value = {**asdict(pending), "points": [list(row) for row in kept(pending.points)]}
    db.execute(insert(setting).values(key=_key(probe), value=value))


def drop(db: Connection, probe: str) -> None:
    """Nothing is under way any more."""
    db.execute(delete(setting).where(setting.c.key == _key(probe)))


def _key(probe: str) -> str:
    """Names of probes are longer than a setting's key may be."""
    return KEY + hashlib.sha256(probe.encode()).hexdigest()[:40]


def _value(found: Mapping[str, Any]) -> Pending:
    rows = tuple(tuple(float(number) for number in row) for row in found["points"])
    return Pending(
        found["field"], tuple(found["thermometer"]), found["salt"], found["since_ms"], tuple(found["beside"]),
        points_of(rows), tuple(found["salts"]),
    )  # fmt: skip
