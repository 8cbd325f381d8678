"""Who changed what: each kind is told with who and when, to the owner alone."""

import re
from datetime import timedelta

from fastapi.testclient import TestClient
from sqlalchemy import Engine, insert

from collector.records.columns import new_id
from collector.records.tables import calibration, field_setting, lead, placement
from collector.records.tables import target as targets
from dashboard.people import tokens
from dashboard.people.audit import PAGE
from dashboard.wheels.bodies.doings import RindNote
from tests.dashboard.book_kept import a_style, a_wheel, enter
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.dairy import a_place

PATH = "/settings/changes"


def a_target(engine: Engine, place_id: str, minutes: int = 0, **values: object) -> None:
    at = NOW_AT - timedelta(minutes=minutes)
    row = {"id": new_id(), "valid_from_at": at, "known_from_at": at, "by": "Keeper", "place_id": place_id, **values}
    with engine.begin() as db:
        db.execute(insert(targets), [row])


def texts(owner: TestClient, asked: str = "") -> list[str]:
    lines = re.findall(r'<li class="device">(.*?)</li>', owner.get(PATH + asked).text, re.DOTALL)
    return [" ".join(re.sub("<[^>]+>", "", line).split()) for line in lines]


def test_nothing_changed_is_said(owner: TestClient) -> None:
    assert "Nothing was changed yet." in owner.get(PATH).text


def test_a_target_is_told_with_who_and_when(owner: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        place_id = a_place(db, "Lower fridge")
    a_target(engine, place_id, temperature_low_c=10.0, temperature_high_c=12.0)
    assert texts(owner) == ["Lower fridge: 10.0 to 12.0 °C, from 14:10 on 14:10, Keeper"]


def test_an_entry_on_a_wheel_and_its_correction_are_told(owner: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        enter(db, RindNote(note="crack", text=""), wheel_id=a_wheel(db, "24-07B"))
    found = texts(owner, "?kind=wheels")
    assert any(line.startswith("24-07B:") for line in found)
    assert texts(owner, "?kind=targets") == []


def test_a_style_is_told_by_its_name_and_leads_to_its_plan(owner: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        style_id = a_style(db, "tomme")
    assert [line.split(":")[0] for line in texts(owner, "?kind=wheels")] == ["tomme, natural rind"]
    assert f'href="/care-plans/{style_id}"' in owner.get(PATH).text


def test_people_and_programs_are_told(owner: TestClient, engine: Engine) -> None:
    page = owner.post("/settings/people", data={"name": "Neighbour", "role": "helper", "to": "2026-03-20"})
    assert page.status_code == 303
    with engine.begin() as db:
        tokens.make(db, "hall", ["read"], "", "Keeper", NOW_AT)
        tokens.end(db, tokens.tokens(db)[0].id, "Keeper", NOW_AT)
    found = texts(owner, "?kind=people")
    assert any("Neighbour: added as helper until 20 March 2026" in line for line in found)
    assert any("program hall: may read" in line for line in found)
    assert any("program hall: ended" in line for line in found)


def test_what_was_said_of_a_probe_is_told(owner: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        place_id = a_place(db, "Lower fridge")
    dated = {"valid_from_at": NOW_AT, "known_from_at": NOW_AT, "by": "Keeper"}
    with engine.begin() as db:
        made = {"offset": 1.5, "gain": 1.0, "uncertainty": 0.5, "method": "salt", "points": []}
        for table, row in (
            (placement, {"probe": "<b>p</b>", "site": "air", "place_id": place_id}),
            (lead, {"place_id": place_id, "probe": "p"}),
            (field_setting, {"probe": "p", "field": "t", "quantity": "temperature"}),
            (calibration, {"probe": "p", "field": "h", **made}),
        ):
            db.execute(insert(table), [{"id": new_id(), **dated, **row}])
    found = " ".join(texts(owner, "?kind=probes"))
    told = ("in Lower fridge, air", "speaks for Lower fridge", "measures temperature", "checked: +1.50, times 1.000")
    for said in told:
        assert said in found
    assert "<b>p</b>" not in owner.get(f"{PATH}?kind=probes").text


def test_pages_follow_each_other_without_a_gap(owner: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        place_id = a_place(db, "Lower fridge")
    for minute in range(PAGE + 5):
        a_target(engine, place_id, minute, grace_min=minute + 1)
    first = owner.get(PATH).text
    older = re.search(r'href="(/settings/changes\?kind=&amp;before=\d+)"', first)
    assert older is not None
    rest = texts(owner, older[1].replace("&amp;", "&").removeprefix(PATH))
    assert len(texts(owner)) == PAGE
    assert len(rest) == 5


def test_only_the_owner_looks(helper: TestClient, guest: TestClient) -> None:
    assert helper.get(PATH).status_code == guest.get(PATH).status_code == 403


def test_a_time_that_cannot_be_is_refused(owner: TestClient) -> None:
    for before in ("-1", "x", str(10**30)):
        assert owner.get(f"{PATH}?before={before}").status_code == 422
