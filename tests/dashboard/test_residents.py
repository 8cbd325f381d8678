"""Who stands where, as the wheel book's rows tell it."""

from typing import Any

from sqlalchemy import Connection, Engine, insert

from collector.records.columns import new_id
from dashboard.residents import residents
from dashboard.wheels import tables
from dashboard.whom import Group, Limits

TOMME = {"name": "tomme, natural rind", "temperature_low_c": 10, "temperature_high_c": 13, "humidity_low_pct": 85,
         "humidity_high_pct": 92}  # fmt: skip
LIKES = Limits(10, 13, 85, 92)


def a_style(db: Connection, **sheet: Any) -> str:
    row = {"id": new_id(), "name": str(sheet.get("name", "")), "sheet": sheet}
    db.execute(insert(tables.style), [row])
    return str(row["id"])


def a_wheel_row(db: Connection, place_id: str | None, style_id: str | None, pieces: int = 1, **more: Any) -> None:
    row = {
        "id": new_id(), "code": "", "sheet": {}, "state": "alive", "pieces_left": pieces, "spot": "",
        "covering": "bare", "coats": 1, "last": {}, "notes": {}, "place_id": place_id, "style_id": style_id,
    }  # fmt: skip
    db.execute(insert(tables.wheel), [{**row, **more}])


def test_wheels_are_counted_by_place_and_style_and_pieces_of_a_batch_one_by_one(engine: Engine) -> None:
    with engine.begin() as db:
        tomme, washed = a_style(db, **TOMME), a_style(db, name="washed rind, soft", humidity_low_pct=92)
        for place_id, style, pieces in (("c", tomme, 1), ("c", tomme, 1), ("c", washed, 14), ("box", tomme, 1)):
            a_wheel_row(db, place_id, style, pieces)
        found = residents(db)
    assert found == {
        "c": [Group("washed rind", 14, Limits(humidity_low_pct=92)), Group("tomme", 2, LIKES)],
        "box": [Group("tomme", 1, LIKES)],
    }


def test_what_lies_airtight_is_a_group_of_its_own(engine: Engine) -> None:
    with engine.begin() as db:
        tomme = a_style(db, **TOMME)
        for covering in ("bare", "cloth", "barrier_bag", "wax", "wax"):
            a_wheel_row(db, "c", tomme, covering=covering)
        found = residents(db)["c"]
    assert found == [Group("tomme, wrapped", 3, LIKES, open_to_air=False), Group("tomme", 2, LIKES)]


def test_gone_wheels_and_wheels_of_no_style_or_place_are_in_no_group(engine: Engine) -> None:
    with engine.begin() as db:
        tomme = a_style(db, **TOMME)
        a_wheel_row(db, "c", tomme, state="eaten")
        a_wheel_row(db, None, tomme)
        a_wheel_row(db, "c", None)
        assert residents(db) == {}
