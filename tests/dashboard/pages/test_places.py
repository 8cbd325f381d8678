"""A place's own settings."""

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine, select

from collector.records.engine import reading
from collector.records.facts import Facts, Place
from collector.records.places import load_facts
from collector.records.tables import fact_change
from collector.settings import Settings
from dashboard.places_now import ordered
from tests.builders import a_sample, an_arrival
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.dairy import a_place, a_placement, keep


def facts_of(engine: Engine) -> Facts:
    with reading(engine) as db:
        return load_facts(db)


def names(engine: Engine) -> list[str]:
    return [place.name for place, _ in ordered(facts_of(engine))]


@pytest.fixture
def cave(engine: Engine) -> str:
    with engine.begin() as db:
        return a_place(db)


def settings_of(place: Place, **more: str) -> dict[str, str]:
    return {"name": place.name, "kind": place.kind, "parent": place.parent_id or "", **more}


def test_a_place_is_added_with_a_target_by_rind(owner: TestClient, engine: Engine) -> None:
    answer = owner.post("/places/new", data={"name": " Lower  fridge ", "kind": "cave", "preset": "washed"})
    (place,) = facts_of(engine).places.values()
    assert (answer.status_code, answer.headers["location"]) == (303, f"/places/{place.id}")
    assert (place.name, place.kind, place.position, place.parent_id) == ("Lower fridge", "cave", 0, None)
    (target,) = facts_of(engine).targets[place.id]
    assert (target.preset, target.valid_from_at) == ("washed", NOW_AT)
    owner.post("/places/new", data={"name": "Box", "kind": "box", "parent": place.id})
    box = next(p for p in facts_of(engine).places.values() if p.name == "Box")
    assert (box.parent_id, box.position) == (place.id, 1)


@pytest.mark.parametrize(
    ("texts", "said"),
    [
        ({"name": ""}, "Give the place a name"),
        ({"name": "LOWER fridge"}, "There is a place called LOWER fridge already."),
        ({"kind": "attic"}, "Say what kind of place it is."),
        ({"parent": "nowhere"}, "Take one of the places, or none."),
    ],
)
def test_a_place_that_cannot_be_is_refused(
    owner: TestClient, engine: Engine, cave: str, texts: dict[str, str], said: str
) -> None:
    answer = owner.post("/places/new", data={"name": "Attic", "kind": "cave", **texts})
    assert answer.status_code == 422
    assert said in answer.text
    assert names(engine) == ["Lower fridge"]


def test_a_place_is_renamed_and_given_an_assumed_air(owner: TestClient, engine: Engine, cave: str) -> None:
    place = facts_of(engine).places[cave]
    texts = settings_of(place, name="Cold <i>box</i>", kind="box", assumed_temperature="54F", assumed_humidity="85,5")
    assert owner.post(f"/places/{cave}", data=texts).status_code == 303
    changed = facts_of(engine).places[cave]
    assert (changed.name, changed.kind, changed.assumed_humidity_pct) == ("Cold <i>box</i>", "box", 85.5)
    # 54 F is 12.2 C by NIST SP 811 (2008), B.8.
    assert changed.assumed_temperature_c == pytest.approx(12.222, abs=0.001)
    page = owner.get(f"/places/{cave}").text
    assert "<h1>Cold &lt;i&gt;box&lt;/i&gt;</h1>" in page
    assert 'value="12.2"' in page


def test_saving_what_is_shown_changes_nothing(owner: TestClient, engine: Engine, cave: str) -> None:
    place = facts_of(engine).places[cave]
    owner.post(f"/places/{cave}", data=settings_of(place, assumed_temperature="54F"))
    before = facts_of(engine)
    with reading(engine) as db:
        logged = db.execute(select(fact_change.c.seq)).all()
    owner.post(f"/places/{cave}", data=settings_of(before.places[cave], assumed_temperature="12.2"))
    assert facts_of(engine) == before
    with reading(engine) as db:
        assert db.execute(select(fact_change.c.seq)).all() == logged


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"assumed_temperature": "99"}, "The assumed temperature must be at most 50 °C"),
        ({"assumed_humidity": "0"}, "The assumed humidity must be at least 1 %"),
        ({"name": " "}, "Give the place a name"),
    ],
)
def test_settings_that_cannot_be_keep_their_text(
    owner: TestClient, engine: Engine, cave: str, more: dict[str, str], said: str
) -> None:
    answer = owner.post(f"/places/{cave}", data=settings_of(facts_of(engine).places[cave], **more))
    assert answer.status_code == 422
    assert said in answer.text
    assert f'value="{next(iter(more.values()))}"' in answer.text


def test_no_place_stands_inside_itself(owner: TestClient, engine: Engine, cave: str) -> None:
    with engine.begin() as db:
        box = a_place(db, "Box", "box", parent_id=cave)
    for parent in (cave, box):
        answer = owner.post(f"/places/{cave}", data=settings_of(facts_of(engine).places[cave], parent=parent))
        assert answer.status_code == 422
    assert "Box lies inside this place; it cannot stand around it." in answer.text


def test_places_are_moved_among_those_beside_them(owner: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        first, second = a_place(db, "First", position=0), a_place(db, "Second", position=1)
        a_place(db, "Inner A", "box", parent_id=first, position=2)
        inner_b = a_place(db, "Inner B", "box", parent_id=first, position=3)
    assert names(engine) == ["First", "Inner A", "Inner B", "Second"]
    owner.post(f"/places/{second}/up")
    assert names(engine) == ["Second", "First", "Inner A", "Inner B"]
    owner.post(f"/places/{inner_b}/up")
    assert names(engine) == ["Second", "First", "Inner B", "Inner A"]
    owner.post(f"/places/{second}/up")
    owner.post(f"/places/{second}/down")
    owner.post(f"/places/{second}/down")
    assert names(engine) == ["First", "Inner B", "Inner A", "Second"]


def test_a_closed_place_is_used_again(owner: TestClient, engine: Engine, cave: str) -> None:
    answer = owner.post(f"/places/{cave}/close")
    assert facts_of(engine).places[cave].closed_at == NOW_AT
    page = owner.get(answer.headers["location"]).text
    assert f'action="/places/{cave}/reopen"' in page
    assert "Closed since" in owner.get(f"/places/{cave}").text
    owner.post(f"/places/{cave}/reopen")
    assert facts_of(engine).places[cave].closed_at is None


def test_a_probe_is_chosen_to_speak_for_the_place(
    owner: TestClient, engine: Engine, settings: Settings, cave: str
) -> None:
    with engine.begin() as db:
        for name in ("front", "back", "ceiling"):
            a_placement(db, name, cave, site="surface" if name == "ceiling" else "air")
    keep(settings, [an_arrival(a_sample(0), probe=name) for name in ("front", "back", "ceiling")])
    page = owner.get(f"/places/{cave}").text
    assert "Which speaks for this place?" in page
    assert 'value="ceiling"' not in page
    owner.post(f"/places/{cave}/lead", data={"lead": "front"})
    owner.post(f"/places/{cave}/lead", data={"lead": "front"})
    assert [(lead.probe, lead.valid_from_at) for lead in facts_of(engine).leads[cave]] == [("front", NOW_AT)]
    assert 'value="front" checked' in owner.get(f"/places/{cave}").text
    owner.post(f"/places/{cave}/lead", data={"lead": ""})
    assert facts_of(engine).leads[cave][-1].probe is None
    assert owner.post(f"/places/{cave}/lead", data={"lead": "ceiling"}).status_code == 422


def test_a_place_without_a_probe_is_whole(guest: TestClient, engine: Engine, cave: str) -> None:
    page = guest.get(f"/places/{cave}").text
    assert "Readings can be typed" in page
    assert "<form" not in page
    assert guest.get("/places/nowhere").status_code == 404
