"""Wheels of some months in a measured cave, for tests of weight."""

from dataclasses import dataclass

import numpy as np
from sqlalchemy import Connection

from collector.readings.model import Arrival, Mark, Sample
from collector.records.columns import to_ms
from collector.settings import Settings
from dashboard.wheels.bodies.doings import Covered
from tests.dashboard.book_kept import a_style, a_wheel, enter
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.dairy import a_place, a_placement, a_target, keep

DAYS = 60


@dataclass(frozen=True, slots=True)
class Aged:
    """Ids of a cave and a damper one, and of wheels in the first."""

    cave: str
    damp: str
    style: str
    even: str
    fast: str
    bagged: str


def measure(settings: Settings, probe: str, humidity: float, days: float = DAYS) -> None:
    """One message in ten minutes, as a fridge swings."""
    at_ms = to_ms(NOW_AT) - np.arange(int(days * 144))[::-1] * 600_000
    turn = np.sin(np.arange(len(at_ms)) * 0.9)
    keep(
        settings,
        [
            Arrival(
                probe, f"rindwatch/{probe}/readings", int(at),
                (
                    Sample("temperature", int(at), 12 + 0.5 * float(swing), "Cel", "temperature", Mark.NONE),
                    Sample("humidity", int(at), humidity - 3 * float(swing), "%RH", "humidity", Mark.NONE),
                ),
            )
            for at, swing in zip(at_ms, turn, strict=True)
        ],
    )  # fmt: skip


def aged(db: Connection) -> Aged:
    """Tommes of 2.5 kg: one dries as it should, one twice as fast, one was bagged; two more of their kind."""
    cave, damp = a_place(db, "Lower fridge"), a_place(db, "Box")
    for place, probe in ((cave, "dry-1"), (damp, "damp-1")):
        a_target(db, place)
        a_placement(db, probe, place)
    style = a_style(db, "tomme")

    def wheel(code: str, daily_g: float) -> str:
        grams = tuple(round(2500 - daily_g * 10 * number**0.8, 0) for number in range(6))
        return a_wheel(db, code, DAYS, cave, grams, style_id=style, diameter_mm=180, height_mm=90)

    even, fast, bagged = wheel("26-01A", 3.0), wheel("26-01B", 8.0), wheel("26-01C", 3.0)
    wheel("26-01D", 3.2)
    enter(db, Covered(covering="barrier_bag"), 9, wheel_id=bagged)
    return Aged(cave, damp, style, even, fast, bagged)
