"""The household's choices, and who is signed in where."""

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine, select

from collector.errors import EntryRefused
from collector.records.engine import reading
from collector.records.tables import person, session
from dashboard.household import Household
from dashboard.household_kept import load
from dashboard.pages.settings import read_household

GOOD = {
    "dairy_name": " Quiet Hollow ", "time_zone": "Europe/Zurich", "temperature_unit": "F", "weight_unit": "lb",
    "date_form": "year-month-day", "base_address": "https://cave.home.arpa:8443/",
}  # fmt: skip


def test_what_was_chosen_is_kept_and_told(owner: TestClient, engine: Engine) -> None:
    answer = owner.post("/settings/household", data=GOOD)
    assert answer.status_code == 303
    with reading(engine) as db:
        kept = load(db)
    assert kept == Household(
        "Quiet Hollow", "Europe/Zurich", "F", "lb", "year-month-day", "https://cave.home.arpa:8443"
    )
    assert "Saved." in owner.get("/settings").text
    assert "Saved." not in owner.get("/settings").text


@pytest.mark.parametrize(
    ("texts", "field", "said"),
    [
        ({"time_zone": "Middle/Earth"}, "time_zone", "No such time zone: Middle/Earth"),
        ({"time_zone": ""}, "time_zone", "No such time zone"),
        ({"temperature_unit": "K"}, "temperature_unit", "one of the choices"),
        ({"dairy_name": "x" * 61}, "dairy_name", "at most 60 characters; this has 61"),
        ({"base_address": "cave"}, "base_address", "must look like https://cave.home.arpa:8443"),
    ],
)
def test_a_wrong_choice_is_named(texts: dict[str, str], field: str, said: str) -> None:
    with pytest.raises(EntryRefused, match=said) as refused:
        read_household({**GOOD, **texts})
    assert refused.value.field == field


def test_a_refused_form_keeps_the_text_escaped(owner: TestClient, engine: Engine) -> None:
    answer = owner.post("/settings/household", data={**GOOD, "dairy_name": '"><script>x</script>' + "x" * 60})
    assert answer.status_code == 422
    assert "<script>x" not in answer.text
    assert "&lt;script&gt;x" in answer.text
    with reading(engine) as db:
        assert load(db).dairy_name == ""


def test_a_guest_sees_no_form_for_the_household(guest: TestClient) -> None:
    page = guest.get("/settings").text
    assert "Name of your dairy" not in page
    assert "Signed in" in page


def test_nobody_ends_the_sign_in_of_another(owner: TestClient, guest: TestClient, engine: Engine) -> None:
    with reading(engine) as db:
        theirs = db.execute(
            select(session.c.id).join(person, person.c.id == session.c.person_id).where(person.c.role == "owner")
        ).scalar_one()
    assert guest.post(f"/settings/sign-ins/{theirs}/end").status_code == 404
    assert owner.get("/settings").status_code == 200
    assert owner.post(f"/settings/sign-ins/{theirs}/end").status_code == 303
    assert owner.get("/settings").status_code == 303
