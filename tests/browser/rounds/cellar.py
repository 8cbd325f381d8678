"""An invented cellar for the tests of the round: shelves, wheels, boards, gear, and what is late."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from sqlalchemy import Engine

from collector.records.columns import new_id
from collector.records.facts import Place
from collector.records.places import add_place
from dashboard.wheels.entries import NewEntry, put_all
from dashboard.wheels.kinds.styles import STYLES

SHELVES = ("Left shelf", "Right shelf", "Back shelf")


@dataclass(frozen=True, slots=True)
class Cellar:
    """Ids of what was put into the book; wheels by their code."""

    cave: str
    shelves: Sequence[str]
    wheels: dict[str, str]
    board: str
    jar: str
    brine: str


def entry(body: dict[str, Any], days_ago: float, now_at: datetime, **refs: Any) -> NewEntry:
    at = now_at - timedelta(days=days_ago)
    return NewEntry(id=new_id(int(at.timestamp() * 1_000)), done_at=at, body=body, **refs)  # type: ignore[arg-type]


def a_cellar(engine: Engine, shelves: Sequence[int] = (12, 5), now_at: datetime | None = None) -> Cellar:
    """A cave with some shelves and as many wheels on each; all were turned ten days ago, so all are late."""
    now_at = now_at or datetime.now(UTC)
    cave, shelf_ids = new_id(), [new_id() for _ in shelves]
    board, scale, jar, brine, style = (new_id() for _ in range(5))
    news = [
        entry(STYLES["tomme"].model_dump(exclude_unset=True), 100, now_at, style_id=style),
        entry({"kind": "gear", "gear": "board", "name": "Board 3", "tare_g": 800}, 100, now_at, gear_id=board),
        entry({"kind": "gear", "gear": "scale", "name": "Kitchen scale", "step_g": 5}, 100, now_at, gear_id=scale),
        entry({"kind": "gear", "gear": "wash", "name": "Jar of smear"}, 100, now_at, gear_id=jar),
        entry({"kind": "gear", "gear": "brine", "name": "Blue tub"}, 100, now_at, gear_id=brine),
        entry({"kind": "chore", "chore": "humidifier_filled"}, 3, now_at, place_id=cave),
        entry({"kind": "chore", "chore": "tray_emptied"}, 1, now_at, place_id=cave),
        entry({"kind": "gear_check", "strength_pct": 20, "ph": 5.2}, 9, now_at, gear_id=brine),
    ]
    wheels: dict[str, str] = {}
    for shelf, count in zip(shelf_ids, shelves, strict=True):
        for _ in range(count):
            code = f"24-{len(wheels) + 1:02d}"
            wheels[code] = new_id()
            news += _wheel(wheels[code], code, shelf, style, board, now_at)
    with engine.begin() as db:
        add_place(db, Place(cave, "Old cellar", "cave", position=0))
        for number, shelf in enumerate(shelf_ids):
            name = ("Left shelf", "Right shelf", "Back shelf", "Top shelf")[number % 4] + (
                f" {number}" if number > 3 else ""
            )
            add_place(db, Place(shelf, name, "shelf", cave, position=number + 1))
        put_all(db, news, received_at=now_at, who="Keeper")
    return Cellar(cave, shelf_ids, wheels, board, jar, brine)


def _wheel(wheel_id: str, code: str, shelf: str, style: str, board: str, now_at: datetime) -> list[NewEntry]:
    made_on = (now_at - timedelta(days=50)).date()
    sheet = {"kind": "wheel", "code": code, "style_id": style, "made_on": made_on}
    return [
        entry(sheet, 40, now_at, wheel_id=wheel_id),
        entry({"kind": "moved"}, 40, now_at, wheel_id=wheel_id, place_id=shelf),
        entry({"kind": "weighing", "scale_g": 2_900, "tare_g": 800, "board_id": board}, 12, now_at, wheel_id=wheel_id),
        entry({"kind": "care", "care": "brushed"}, 4, now_at, wheel_id=wheel_id),
        entry({"kind": "care", "care": "turned", "nothing_new": True}, 10, now_at, wheel_id=wheel_id),
    ]
