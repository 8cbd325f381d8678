"""A wheel book of ten years for the benches: 400 makes, 1,200 wheels of which 300 are there, some 100,000 entries.

The entries are written straight into their table and read by the product's own code; entering has a bench of its own.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Engine, insert

from collector.records.columns import new_id
from dashboard.wheels import tables
from dashboard.wheels.entries import body_json, digest
from dashboard.wheels.kinds.styles import STYLES
from dashboard.wheels.refresh import rebuild
from tests.browser.rounds.cellar import entry

MAKES, WHEELS_EACH, LIVING_MAKES = 400, 3, 100
YEARS_D = 3_650
ENDED_D = 300
STYLE_NAMES = ("tomme", "washed", "blue", "alpine")
CHORES = ("humidifier_filled", "tray_emptied", "boards_scalded")
NOTES = ("black_spots", "crack", "blue_spots", "cat_hair")


@dataclass(frozen=True, slots=True)
class Decade:
    """Ids of what the pages are asked for."""

    wheel: str
    make: str
    style: str
    note: str
    entries: int


def a_decade(engine: Engine, places: list[str], now_at: datetime) -> Decade:
    """Fill the book; the wheels stand in these places in turn."""
    styles, tub, board = [new_id() for _ in STYLE_NAMES], new_id(), new_id()
    rows = [
        *(_row(STYLES[name].model_dump(exclude_unset=True), YEARS_D, now_at, style_id=id_)
          for name, id_ in zip(STYLE_NAMES, styles, strict=True)),
        _row({"kind": "gear", "gear": "brine", "name": "Blue tub"}, YEARS_D, now_at, gear_id=tub),
        _row({"kind": "gear", "gear": "board", "name": "Board 3", "tare_g": 800}, YEARS_D, now_at, gear_id=board),
        *(_row({"kind": "chore", "chore": CHORES[day % 3]}, day, now_at, place_id=places[day % len(places)])
          for day in range(YEARS_D)),
    ]  # fmt: skip
    found = {}
    for number in range(MAKES):
        make_id, ago_d = new_id(), YEARS_D * (MAKES - number - 0.5) / MAKES
        style = styles[number % len(styles)]
        sheet = {
            "kind": "make", "code": f"M{number:03}", "made_on": (now_at - timedelta(days=ago_d)).date(),
            "style_id": style, "heat": "raw", "brine_id": tub,
            "milks": [{"species": "cow", "farm": "Upper farm", "lot": f"{number % 40}", "volume_l": 60}],
            "cultures": [{"name": "mild culture", "lot": f"{number // 20}"}],
        }  # fmt: skip
        rows.append(_row(sheet, ago_d, now_at, make_id=make_id))
        for letter in "ABC"[:WHEELS_EACH]:
            wheel_id = new_id()
            about = {"kind": "wheel", "code": f"M{number:03}{letter}", "make_id": make_id, "style_id": style,
                     "made_on": sheet["made_on"]}  # fmt: skip
            place = places[(number + ord(letter)) % len(places)]
            rows += _life(wheel_id, about, place, board, ago_d, number, now_at)
            if number == MAKES - 30 and letter == "A":
                found = {"wheel": wheel_id, "make": make_id, "style": style}
    note = next(r["id"] for r in rows if r["kind"] == "rind_note" and r["happened_at"] > now_at - timedelta(days=60))
    with engine.begin() as db:
        _kept(db, rows)
    return Decade(found["wheel"], found["make"], found["style"], str(note), len(rows))


def _kept(db: Connection, rows: list[dict[str, Any]]) -> None:
    for start in range(0, len(rows), 5_000):
        db.execute(insert(tables.entry), rows[start : start + 5_000])
    rebuild(db)


def _life(
    wheel_id: str, sheet: dict[str, Any], place: str, board: str, ago_d: float, number: int, now_at: datetime
) -> Iterator[dict[str, Any]]:
    """Turned weekly, weighed and brushed monthly, now and then a note, tasted twice; most were eaten after 300 days."""
    is_there = number >= MAKES - LIVING_MAKES
    last_d = 0.0 if is_there else max(ago_d - ENDED_D, 0.0)

    def at(days: float, body: dict[str, Any], **refs: Any) -> dict[str, Any]:
        return _row(body, max(ago_d - days, 0.001), now_at, wheel_id=wheel_id, **refs)

    lived_d = ago_d - last_d
    yield at(0, sheet)
    yield at(0.1, {"kind": "moved", "position": number}, place_id=place)
    for week in range(int(lived_d // 7)):
        yield at(week * 7 + 1, {"kind": "care", "care": "turned", "nothing_new": week % 2 == 0})
        if week % 4 == 0:
            grams = round(2_900 - 60 * (week + 1) ** 0.5)
            start = {"start": "cave"} if week == 0 else {}
            weighing = {"kind": "weighing", "scale_g": grams, "tare_g": 800, "board_id": board, **start}
            yield at(week * 7 + 1.1, weighing)
            yield at(week * 7 + 1.2, {"kind": "care", "care": "brushed"})
    if number % 3 == 0:
        note = {"kind": "rind_note", "note": NOTES[number % len(NOTES)]}
        yield at(lived_d * 0.9, note)
    for share in (0.4, 0.8):
        yield at(lived_d * share, {"kind": "tasting", "verdict": 1 + number % 5, "flavour": "nutty"})
    if not is_there:
        yield at(lived_d, {"kind": "ended", "how": "eaten"})


def _row(body: dict[str, Any], ago_d: float, now_at: datetime, **refs: Any) -> dict[str, Any]:
    new = entry(body, ago_d, now_at, **refs)
    kept = body_json(new)
    named = ("wheel_id", "make_id", "place_id", "gear_id", "style_id")
    return {
        "id": new.id, "kind": new.kind, **{name: getattr(new, name) for name in named}, "who": "Keeper",
        "happened_at": new.done_at, "done_at": new.done_at, "received_at": now_at, "body": kept,
        "digest": digest(new, kept), "flags": [],
    }  # fmt: skip
