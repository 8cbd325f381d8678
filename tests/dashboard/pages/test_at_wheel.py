"""At a wheel by plain forms: each kind of entry, a doubt before an odd weight, corrections that add."""

import re
from typing import Any

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine

from collector.records.columns import new_id
from tests.browser.rounds.cellar import Cellar, a_cellar
from tests.dashboard.api.test_photos import a_photo
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.pages.test_round import rows, seed_of


@pytest.fixture
def cellar(engine: Engine) -> Cellar:
    return a_cellar(engine, (1,), NOW_AT)


def post(client: TestClient, cellar: Cellar, kind: str, **form: Any) -> Any:
    return client.post(f"/at/{cellar.wheels['24-01']}/{kind}", data={"seed": new_id(), **form})


@pytest.mark.parametrize(
    ("kind", "form", "body"),
    [
        ("looked", {}, {"kind": "looked"}),
        ("care", {"care": "oiled", "with_what": "oil"}, {"kind": "care", "care": "oiled", "with_what": "oil"}),
        ("took_out", {"what": "plug", "taken": "12"}, {"kind": "took_out", "what": "plug", "taken_g": 12}),
        ("tasting", {"verdict": "4", "flavour": "hazelnut"}, {"kind": "tasting", "verdict": 4, "flavour": "hazelnut"}),
        ("rind_note", {"note": "crack", "how_bad": "2"}, {"kind": "rind_note", "note": "crack", "how_bad": 2}),
        ("rind_note", {"text": "smells of hay"}, {"kind": "note", "text": "smells of hay"}),
    ],
)  # fmt: skip
def test_each_kind_of_entry_is_kept(
    helper: TestClient, engine: Engine, cellar: Cellar, kind: str, form: dict[str, str], body: dict[str, Any]
) -> None:
    assert post(helper, cellar, kind, **form).status_code == 303
    assert [row["body"] for row in rows(engine, body["kind"])] == [body]
    assert "Kept." in helper.get(f"/at/{cellar.wheels['24-01']}").text


def test_moved_is_a_move_and_no_care(helper: TestClient, engine: Engine, cellar: Cellar) -> None:
    wheel = cellar.wheels["24-01"]
    form = {"seed": new_id(), "care": "own", "own_word": "Moved"}
    answer = helper.post(f"/at/{wheel}/care", data=form)
    assert (answer.status_code, "touch Moved and take the place" in answer.text) == (422, True)
    assert rows(engine, "care") == rows(engine, "own_kind") == []
    assert f'href="/wheels/move?wheel={wheel}"' in helper.get(f"/at/{wheel}").text


def test_an_odd_weight_is_asked_about_first_and_nothing_of_it_is_kept(
    helper: TestClient, engine: Engine, cellar: Cellar
) -> None:
    answer = post(helper, cellar, "weighing", weight="4.9 kg", board="new", board_name="Oak", board_tare="900")
    assert answer.status_code == 422
    assert "Heavier than before; was it wet, or on its board?" in answer.text
    assert 'value="4.9 kg"' in answer.text
    assert 'name="insisted" value="yes"' in answer.text
    assert rows(engine, "weighing") == rows(engine, "gear") == []
    form = {"weight": "4.9 kg", "insisted": "yes", "seed": seed_of(answer.text)}
    assert post(helper, cellar, "weighing", **form).status_code == 303
    assert [row["flags"] for row in rows(engine, "weighing")] == [["kept_as_typed"]]


def test_what_was_entered_lately_is_taken_back(helper: TestClient, engine: Engine, cellar: Cellar) -> None:
    wheel = cellar.wheels["24-01"]
    post(helper, cellar, "care", care="oiled")
    path = re.search(rf'action="(/at/{wheel}/undo/[^"]+)"><button[^>]+oiled', helper.get(f"/at/{wheel}").text)
    assert path
    assert [helper.post(path[1]).status_code for _ in range(2)] == [303, 303]
    assert len(rows(engine, "withdrawn")) == 1
    assert "Take back: oiled" not in helper.get(f"/at/{wheel}").text
    assert helper.post(f"/at/{wheel}/undo/{new_id()}").status_code == 404


def test_an_open_note_is_said_to_be_gone(helper: TestClient, engine: Engine, cellar: Cellar) -> None:
    wheel = cellar.wheels["24-01"]
    post(helper, cellar, "rind_note", note="crack")
    assert "crack (since 12 March) is gone" in helper.get(f"/at/{wheel}").text
    post(helper, cellar, "rind_note", note="crack", gone="yes")
    assert "is gone</button>" not in helper.get(f"/at/{wheel}").text


def test_photos_come_with_the_note(helper: TestClient, engine: Engine, cellar: Cellar) -> None:
    files = [("photo", (f"{n}.jpg", a_photo(40 * n), "image/jpeg")) for n in (1, 2)]
    wheel = cellar.wheels["24-01"]
    helper.post(f"/at/{wheel}/rind_note", data={"seed": new_id(), "note": "crack"}, files=files)
    assert len(rows(engine, "rind_note")[0]["body"]["photos"]) == 2
    bad = helper.post(
        f"/at/{wheel}/rind_note", data={"seed": new_id(), "note": "crack", "text": "see"},
        files={"photo": ("a.gif", b"GIF89a", "image/gif")},
    )  # fmt: skip
    assert bad.status_code == 422
    assert "is not a JPEG, PNG, WebP or HEIC photo" in bad.text
    assert ">see</textarea>" in bad.text
    assert len(rows(engine, "rind_note")) == 1


def test_a_wheel_that_is_not_there_and_a_form_that_is_not_there(
    helper: TestClient, engine: Engine, cellar: Cellar
) -> None:
    assert helper.get(f"/at/{new_id()}").status_code == 404
    assert post(helper, cellar, "chore").status_code == 404


def test_the_page_of_no_wheel_carries_nothing_of_any(guest: TestClient, engine: Engine, cellar: Cellar) -> None:
    page = guest.get("/at/any").text
    assert 'data-wheel="any"' in page
    assert "24-01" not in page
