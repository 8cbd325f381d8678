"""Corrections by plain forms, from where an entry is shown: added, never overwriting, undone to what stood before."""

import re
from typing import Any

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine, insert

from collector.records.columns import new_id
from collector.records.engine import reading
from collector.records.tables import setting
from dashboard.wheels import tables
from dashboard.wheels.entry_rows import standing_where
from tests.browser.rounds.cellar import Cellar, a_cellar
from tests.dashboard.api.test_photos import a_photo
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.pages.test_round import rows, seed_of


@pytest.fixture
def cellar(engine: Engine) -> Cellar:
    return a_cellar(engine, (2,), NOW_AT)


def enter(client: TestClient, cellar: Cellar, kind: str, **form: Any) -> None:
    answer = client.post(f"/at/{cellar.wheels['24-01']}/{kind}", data={"seed": new_id(), **form})
    assert answer.status_code == 303


def form_of(page: str) -> dict[str, str]:
    """The fields of a page's correction as a browser would send them, untouched."""
    form = page[page.index('action="/correct/') :]
    found = {}
    for field in re.findall(r"<input[^>]*>", form):
        name, value = re.search(r'name="(\w+)"', field), re.search(r'value="([^"]*)"', field)
        ticked = "checked" in field or not re.search('type="(radio|checkbox|file)"', field)
        if name and value and ticked:
            found[name[1]] = value[1]
    found |= dict(re.findall(r'<textarea name="(\w+)"[^>]*>([^<]*)</textarea>', form))
    for name, options in re.findall(r'<select name="(\w+)">(.*?)</select>', form, re.DOTALL):
        chosen = re.search(r'<option value="([^"]*)" selected', options)
        found[name] = chosen[1] if chosen else ""
    return found


def standing(engine: Engine, kind: str) -> list[dict[str, Any]]:
    c = tables.entry.c
    with reading(engine) as db:
        found = standing_where(db, c.kind == kind, c.who != "Keeper")
    return [entry.body.model_dump(mode="json", exclude_unset=True) for entry in found]


@pytest.mark.parametrize(
    ("kind", "form", "changed", "body"),
    [
        ("care", {"care": "oiled"}, {"care": "brushed"}, {"kind": "care", "care": "brushed"}),
        ("took_out", {"what": "trim", "taken": "12"}, {"taken": "15"},
         {"kind": "took_out", "what": "trim", "taken_g": 15}),
        ("tasting", {"verdict": "4"}, {"verdict": "2"}, {"kind": "tasting", "verdict": 2}),
        ("looked", {}, {"text": "damp"}, {"kind": "looked", "text": "damp"}),
    ],
)  # fmt: skip
def test_a_correction_is_added_and_the_old_one_stays(
    helper: TestClient, engine: Engine, cellar: Cellar, kind: str, form: Any, changed: Any, body: Any
) -> None:
    enter(helper, cellar, kind, **form)
    (old,) = rows(engine, kind)
    assert f'href="/correct/{old["id"]}"' in helper.get(f"/at/{cellar.wheels['24-01']}").text
    assert f'href="/correct/{old["id"]}"' in helper.get(f"/wheels/{cellar.wheels['24-01']}").text
    page = helper.get(f"/correct/{old['id']}").text
    sent = {**form_of(page), **form, **changed}
    answers = [helper.post(f"/correct/{old['id']}", data=sent) for _ in range(2)]
    assert [answer.headers["location"] for answer in answers] == [f"/at/{cellar.wheels['24-01']}"] * 2
    assert standing(engine, kind) == [body]
    assert len(rows(engine, kind)) == 2
    assert rows(engine, kind)[-1]["happened_at"] == old["happened_at"]


def test_undo_of_a_correction_brings_back_what_stood_before(helper: TestClient, engine: Engine, cellar: Cellar) -> None:
    enter(helper, cellar, "care", care="oiled")
    old = rows(engine, "care")[0]["id"]
    page = helper.get(f"/correct/{old}").text
    helper.post(f"/correct/{old}", data={**form_of(page), "care": "brushed"})
    undo = re.search(r'action="(/round/undo/[^"]+)"', helper.get(f"/at/{cellar.wheels['24-01']}").text)
    assert undo
    assert [helper.post(undo[1]).status_code for _ in range(2)] == [303, 303]
    assert standing(engine, "care") == [{"kind": "care", "care": "oiled"}]


def test_photos_of_a_note_stay_and_more_come_to_them(helper: TestClient, engine: Engine, cellar: Cellar) -> None:
    path = f"/at/{cellar.wheels['24-01']}/rind_note"
    photo = {"photo": ("a.jpg", a_photo(), "image/jpeg")}
    helper.post(path, data={"seed": new_id(), "text": "look"}, files=photo)
    old = rows(engine, "note")[0]
    page = helper.get(f"/correct/{old['id']}").text
    more = {"photo": ("b.jpg", a_photo(), "image/jpeg")}
    helper.post(f"/correct/{old['id']}", data={"seed": seed_of(page), "text": "look here"}, files=more)
    (body,) = standing(engine, "note")
    assert (body["text"], body["photos"][0], len(body["photos"])) == ("look here", old["body"]["photos"][0], 2)


def test_an_odd_weight_is_asked_about_but_not_against_the_one_it_corrects(
    helper: TestClient, engine: Engine, cellar: Cellar
) -> None:
    enter(helper, cellar, "weighing", weight="4.9 kg", insisted="yes")
    old = rows(engine, "weighing")[0]["id"]
    form = {"seed": new_id(), "weight": "3.9 kg"}
    asked_about = helper.post(f"/correct/{old}", data=form)
    assert asked_about.status_code == 422
    assert "Heavier than before" in asked_about.text
    assert helper.post(f"/correct/{old}", data={**form, "weight": "2060"}).status_code == 303
    assert [body["scale_g"] for body in standing(engine, "weighing")] == [2060]


def test_a_chore_and_a_check_of_gear_are_corrected_from_the_list(
    helper: TestClient, engine: Engine, cellar: Cellar
) -> None:
    helper.post(f"/round/chores/{cellar.cave}", data={"seed": new_id(), "chore": "humidifier_filled"})
    helper.post(f"/gear/{cellar.brine}/check", data={"seed": new_id(), "ph": "5.4"})
    page = helper.get("/round/entered").text
    chore, check = rows(engine, "chore")[0]["id"], rows(engine, "gear_check")[0]["id"]
    assert "humidifier filled" in page
    assert f'href="/correct/{chore}"' in page
    assert f'href="/correct/{check}"' in helper.get(f"/gear/{cellar.brine}").text
    for id_, changed in ((chore, {"chore": "floor_washed"}), (check, {"ph": "5.1"})):
        form = form_of(helper.get(f"/correct/{id_}").text)
        assert helper.post(f"/correct/{id_}", data={**form, **changed}).status_code == 303
    assert [body["chore"] for body in standing(engine, "chore")] == ["floor_washed"]
    assert [body["ph"] for body in standing(engine, "gear_check")] == [5.1]


def test_a_temperature_is_corrected_in_the_unit_that_the_household_reads(
    helper: TestClient, engine: Engine, cellar: Cellar
) -> None:
    with engine.begin() as db:
        db.execute(insert(setting), [{"key": "household.temperature_unit", "value": "F"}])
    helper.post(f"/gear/{cellar.brine}/check", data={"seed": new_id(), "temperature_c": "54.5"})
    check = rows(engine, "gear_check")[0]["id"]
    page = helper.get(f"/correct/{check}").text
    assert 'data-warmth="F"' in page
    assert form_of(page)["temperature_c"] == "54.5"
    helper.post(f"/correct/{check}", data={**form_of(page), "temperature_c": "50"})
    assert [body["temperature_c"] for body in standing(engine, "gear_check")] == [10]


def test_a_refused_correction_keeps_what_was_typed(helper: TestClient, engine: Engine, cellar: Cellar) -> None:
    enter(helper, cellar, "took_out", what="plug", taken="12")
    old = rows(engine, "took_out")[0]["id"]
    answer = helper.post(f"/correct/{old}", data={"seed": new_id(), "what": "plug", "taken": "a lot"})
    assert answer.status_code == 422
    assert 'value="a lot"' in answer.text


def test_what_is_out_or_no_happening_is_not_corrected(helper: TestClient, engine: Engine, cellar: Cellar) -> None:
    enter(helper, cellar, "care", care="oiled")
    old = rows(engine, "care")[0]["id"]
    helper.post(f"/round/entered/undo/{old}")
    assert helper.get(f"/correct/{old}").status_code == 404
    assert helper.get(f"/correct/{new_id()}").status_code == 404
    assert "oiled" not in helper.get("/round/entered").text
    with reading(engine) as db:
        sheet = db.execute(tables.entry.select().where(tables.entry.c.kind == "wheel")).mappings().first()
    assert sheet is not None
    assert helper.get(f"/correct/{sheet['id']}").status_code == 404


def test_what_was_done_to_a_shelf_stands_together_and_is_taken_back_together(
    helper: TestClient, engine: Engine, cellar: Cellar
) -> None:
    wheels = list(cellar.wheels.values())
    form = {"seed": new_id(), "do": "turned", "wheel": wheels}
    helper.post(f"/round/shelf/{cellar.shelves[0]}", data=form)
    page = helper.get("/round/entered").text
    assert "turned: 2 entries" in page
    undo = re.search(r'action="(/round/undo/[^"]+)"><button class="quiet full">Take all', page)
    assert undo
    assert helper.post(undo[1]).headers["location"] == "/round/entered"
    assert standing(engine, "care") == []
