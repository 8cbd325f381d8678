"""Makes: the sheet, the now buttons, made again, its wheels, who has a piece, the card."""

from datetime import timedelta

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine

from collector.clock import ManualClock
from collector.records.columns import new_id
from dashboard.wheels.bodies.doings import Ended, Tasting
from dashboard.wheels.bodies.make import TIMES, Added, MakeSheet, Milk
from dashboard.wheels.book import makes
from dashboard.wheels_shown.make_fields import FIELDS, STEPS
from tests.dashboard.book_kept import a_make, a_wheel, enter

FULL = {
    "code": "26-11", "style_id": "new:tomme", "made_on": "3 Feb", "milks-0-species": "goat", "milks-0-volume_l": "20",
    "milks-0-farm": "Upper pasture", "milks-1-species": "cow", "milks-1-volume_l": "2,5", "heat": "thermised",
    "heat_c": "63", "heat_min": "0:30", "ph_milk": "6.6", "cultures-0-name": "Mild", "cultures-0-lot": "L7",
    "culture_c": "32", "moulds-0-name": "Grey", "calcium-0-name": "Calcium chloride", "calcium-0-amount": "2 ml",
    "additions-0-name": "Nettle leaf", "rennet-0-name": "Calf", "rennet-0-amount": "4 ml", "rennet_c": "32.5",
    "flocculation_factor": "3", "curd_mm": "8", "cook_c": "38", "ph_draining": "6.4", "acidity_hooping": "22 SH",
    "pressings-0-weight_kg": "4", "pressings-0-minutes": "30", "pressings-1-weight_kg": "8",
    "ph_salting": "5.3", "dry_salt_pct": "2", "brine_h": "12", "rennet_at": "2026-02-03T09:10",
    "next_step": "Turn in the hoop", "next_at": "2026-03-12T16:00", "moisture_pct": "41", "moisture_how": "guessed",
    "notes": "Slow acid.",
}  # fmt: skip


def kept(engine: Engine) -> list[MakeSheet]:
    with engine.begin() as db:
        return [make.sheet for make in makes(db)]


def test_every_field_of_a_sheet_stands_in_its_form() -> None:
    assert set(MakeSheet.model_fields) - {"kind", "text", "photos"} == set(FIELDS)
    assert tuple(STEPS) == TIMES


def test_a_whole_sheet_is_kept_as_typed_and_shown(helper: TestClient, engine: Engine) -> None:
    answer = helper.post("/makes/new", data={"seed": new_id(), **FULL})
    assert answer.status_code == 303
    (sheet,) = kept(engine)
    assert [(milk.species, milk.volume_l) for milk in sheet.milks] == [("goat", 20), ("cow", 2.5)]
    assert (sheet.heat_c, sheet.heat_min, sheet.brine_h, sheet.curd_mm) == (63, 30, 12, 8)
    assert [press.weight_kg for press in sheet.pressings] == [4, 8]
    page = helper.get(answer.headers["location"]).text
    for said in (
        "20 l goat Upper pasture; 2.5 l cow", "tomme, natural rind", "63.0 °C", "Mild, lot L7", "Nettle leaf",
        "4 kg for 30 min; 8 kg", "22 SH", "12 h", "3 February 09:10", "Turn in the hoop: 16:00", "Slow acid.",
    ):  # fmt: skip
        assert said in page, said


def test_a_sheet_that_is_kept_unchanged_says_nothing_new(helper: TestClient, engine: Engine) -> None:
    path = helper.post("/makes/new", data={"seed": new_id(), **FULL}).headers["location"]
    with engine.begin() as db:
        (make,) = makes(db)
    form = helper.get(f"{path}/sheet").text
    assert 'value="Upper pasture"' in form
    shown = {**FULL, "style_id": make.style_id, "made_on": "2026-02-03", "milks-1-volume_l": "2.5", "heat_min": "30",
             "heat_c": "63.0", "culture_c": "32.0", "cook_c": "38.0"}  # fmt: skip
    assert helper.post(f"{path}/sheet", data={"seed": new_id(), **shown}).status_code == 303
    with engine.begin() as db:
        count = db.exec_driver_sql("select count(*) from entry where kind = 'make'").scalar_one()
    assert count == 1


def test_a_now_button_writes_the_time_and_keeps_what_was_typed(
    helper: TestClient, engine: Engine, clock: ManualClock
) -> None:
    with engine.begin() as db:
        make_id = a_make(db, 0)
    clock.advance(timedelta(minutes=5))
    answer = helper.post(f"/makes/{make_id}/sheet", data={"seed": new_id(), "now": "rennet_at", "ph_milk": "6,6"})
    assert answer.headers["location"] == f"/makes/{make_id}/sheet"
    (sheet,) = kept(engine)
    assert sheet.rennet_at == clock.now()
    assert sheet.ph_milk == 6.6
    assert "Rennet in: 14:15." in helper.get(f"/makes/{make_id}/sheet").text


@pytest.mark.parametrize(
    ("texts", "said"),
    [
        ({"ph_milk": "66"}, "must be at most 10"),
        ({"milks-0-farm": "Upper pasture"}, "fill in milk of too"),
        ({"pressings-0-weight_kg": "heavy"}, "not a number of kilograms"),
        ({"now": "lunch_at"}, "own buttons"),
        ({"heat_c": "400"}, "400"),
        ({"rennet_at": "2027-01-01T10:00"}, "must not be in the future"),
    ],
)
def test_what_cannot_be_read_is_said_beside_what_was_typed(
    helper: TestClient, engine: Engine, texts: dict[str, str], said: str
) -> None:
    answer = helper.post("/makes/new", data={"seed": new_id(), "code": "26-11", **texts})
    assert answer.status_code == 422
    assert said in answer.text
    assert 'value="26-11"' in answer.text
    assert kept(engine) == []


def test_made_again_begins_with_next_time_and_the_tastings(helper: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        make_id = a_make(
            db, 90, code="25-40", milks=(Milk(species="sheep"),), cultures=(Added(name="Mild"),), ph_milk=6.5
        )
        wheel = a_wheel(db, "25-40A", 90, make_id=make_id)
        enter(db, Tasting(verdict=3, flavour="Flat", next_time="salt it longer"), 1, wheel_id=wheel)
    page = helper.get(f"/makes/new?again={make_id}").text
    assert "salt it longer" in page
    assert "Flat" in page
    assert 'value="Mild"' in page
    assert 'value="6.5"' not in page  # measured on that day
    assert 'value="25-40"' not in page
    assert 'value="2026-03-12"' in page


def test_wheels_and_a_batch_come_out_of_a_vat_once(helper: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        make_id = a_make(db, 0, code="26-11")
    posted = {"seed": new_id(), "count": "3", "weight": "2.1 kg", "start": "press"}
    for _ in range(2):
        assert helper.post(f"/makes/{make_id}/wheels", data=posted).status_code == 303
    batch = {"seed": new_id(), "count": "1", "code": "Pile", "pieces": "14", "piece_g": "240"}
    assert helper.post(f"/makes/{make_id}/wheels", data=batch).status_code == 303
    page = helper.get(f"/makes/{make_id}").text
    for said in ("26-11A", "26-11B", "26-11C", "2.10 kg", "Pile", "14 pieces"):
        assert page.count(f"{said}<") + page.count(f"{said},") >= 1, said
    assert page.count("26-11A<") == 1
    assert helper.post(f"/makes/{make_id}/wheels", data={"seed": new_id(), "count": "500"}).status_code == 422


def test_everyone_who_has_a_piece_of_this_milk_stands_on_one_page(guest: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        make_id = a_make(db, 90, heat="raw", additions=(Added(name="Nettle leaf"),))
        wheel = a_wheel(db, "A1", 90, make_id=make_id)
        enter(db, Ended(how="given", to_whom="The neighbour", amount_g=400), 1, wheel_id=wheel)
    page = guest.get(f"/makes/{make_id}").text
    assert "The neighbour" in page
    assert "given 11 March 2026, 400 g, A1" in page
    card = guest.get(f"/makes/{make_id}/card").text
    for said in ("Nettle leaf", "raw", "12 December 2025", "Your local rules come first", "Keep it cold"):
        assert said in card, said


def test_a_guest_fills_in_nothing(guest: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        make_id = a_make(db)
    assert guest.get("/makes/new").status_code == 403
    assert guest.post(f"/makes/{make_id}/sheet", data={"code": "x"}).status_code == 403
    assert "Fill in the sheet" not in guest.get(f"/makes/{make_id}").text
    assert guest.get(f"/makes/{new_id()}").status_code == 404
