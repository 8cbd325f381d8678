"""Places and targets: the list, one place's target, its history, and what another would have raised."""

import re
from datetime import UTC, datetime, timedelta

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine

from collector.records.engine import reading
from collector.records.facts import Target
from collector.records.places import load_facts
from collector.settings import Settings
from tests.builders import a_sample, an_arrival
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.dairy import a_calibration, a_place, a_placement, a_target, keep

GOOD = {
    "use": "in use", "temperature_low_c": "10", "temperature_high_c": "13,5", "humidity_low_pct": "85",
    "humidity_high_pct": "92", "grace": "2 h", "since": "now", "preset": "natural",
}  # fmt: skip


@pytest.fixture
def cave(engine: Engine) -> str:
    with engine.begin() as db:
        return a_place(db)


def targets_of(engine: Engine, place_id: str) -> list[Target]:
    with reading(engine) as db:
        return load_facts(db).targets.get(place_id, [])


def test_the_list_tells_what_is_asked_since_when_and_what_comes(guest: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        upper = a_place(db, "Upper <b>cellar</b>", position=0)
        box = a_place(db, "Box", "box", parent_id=upper, position=1)
        a_place(db, "Shelf", position=2)
        a_place(db, "North wall", "outside", position=3)
        a_target(db, upper)
        a_target(db, upper, NOW_AT + timedelta(days=2), resting=True)
        a_target(db, box, NOW_AT - timedelta(days=3), resting=True)
    page = guest.get("/targets").text
    assert "Upper &lt;b&gt;cellar&lt;/b&gt;" in page
    assert "10.0 to 14.0 °C, 82 to 92 %" in page
    assert "since 16 May 2025" in page
    assert "From 14 March 14:10: Resting: nothing is asked" in page
    assert page.index(">Upper") < page.index(">Box<") < page.index(">Shelf<")
    assert "No target yet" in page
    assert "Outside: nothing is asked of it" in page
    assert "A new place" not in page


def test_a_target_is_set_from_now_on_and_the_old_one_stays(owner: TestClient, engine: Engine, cave: str) -> None:
    with engine.begin() as db:
        before = a_target(db, cave)
    answer = owner.post(f"/targets/{cave}", data=GOOD)
    assert (answer.status_code, answer.headers["location"]) == (303, f"/targets/{cave}")
    old, new = targets_of(engine, cave)
    assert old == before
    assert (new.temperature_low_c, new.temperature_high_c, new.humidity_low_pct, new.humidity_high_pct) == (
        10,
        13.5,
        85,
        92,
    )
    assert (new.grace_min, new.preset, new.valid_from_at, new.known_from_at, new.resting) == (
        120,
        "natural",
        NOW_AT,
        NOW_AT,
        False,
    )
    page = owner.get(f"/targets/{cave}").text
    assert "Lower fridge: 10.0 to 13.5 °C, 85 to 92 %." in page
    assert "from 16 May 2025 14:10 to 14:10" in page


def test_a_target_may_be_for_a_day_past_or_to_come(owner: TestClient, engine: Engine, cave: str) -> None:
    owner.post(f"/targets/{cave}", data={**GOOD, "since": "at", "since_at": "2026-04-01T08:00"})
    owner.post(f"/targets/{cave}", data={**GOOD, "since": "at", "since_at": "2026-02-01T08:00"})
    assert [t.valid_from_at for t in targets_of(engine, cave)] == [
        datetime(2026, 2, 1, 8, 0, tzinfo=UTC), datetime(2026, 4, 1, 8, 0, tzinfo=UTC),
    ]  # fmt: skip


def test_a_rest_asks_nothing_and_its_end_finds_the_old_limits(owner: TestClient, engine: Engine, cave: str) -> None:
    owner.post(f"/targets/{cave}", data={**GOOD, "since": "at", "since_at": "2026-02-01T08:00"})
    owner.post(f"/targets/{cave}", data={**GOOD, "use": "resting", "humidity_low_pct": "no number"})
    page = owner.get(f"/targets/{cave}").text
    assert "Resting: nothing is asked" in page
    assert targets_of(engine, cave)[-1].resting
    assert 'name="humidity_low_pct" type="text" autocomplete="off" maxlength="20" value="85"' in page
    assert 'value="in use" checked' in page


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"humidity_low_pct": "92"}, "The highest humidity must be above the lowest, 92, got 92."),
        ({"temperature_high_c": "9"}, "The highest temperature must be above the lowest, 10, got 9."),
        ({"temperature_high_c": "54"}, "The highest temperature must be at most 50 °C, got &#39;54&#39;."),
        ({"humidity_high_pct": "120"}, "The highest humidity must be at most 100 %"),
        (dict.fromkeys(list(GOOD)[1:5], ""), "Give at least one limit, or let the place rest."),
        ({"grace": "5 min"}, "from 10 minutes to 24 hours, got 5 min."),
        ({"grace": "2 d"}, "from 10 minutes to 24 hours, got 2 d."),
        ({"grace": ""}, "The time before warning is blank"),
        ({"since": "at"}, "Say from when on, or take from now on."),
    ],
)
def test_a_target_that_cannot_be_names_what_and_keeps_the_texts(
    owner: TestClient, engine: Engine, cave: str, more: dict[str, str], said: str
) -> None:
    answer = owner.post(f"/targets/{cave}", data={**GOOD, **more})
    assert answer.status_code == 422
    assert said in answer.text
    assert targets_of(engine, cave) == []
    assert all(f'value="{text}"' in answer.text for name, text in more.items() if text and name != "since")


def test_open_ends_are_told_as_such(owner: TestClient, engine: Engine, cave: str) -> None:
    owner.post(f"/targets/{cave}", data={**GOOD, "temperature_low_c": "", "humidity_high_pct": ""})
    assert "at most 13.5 °C, at least 85 %" in owner.get(f"/targets/{cave}").text


def test_a_kind_of_rind_fills_the_form_in_and_says_why(owner: TestClient, engine: Engine, cave: str) -> None:
    page = owner.get(f"/targets/{cave}?preset=dry").text
    # 80 to 85 % for dry rinds: University of Guelph, Food Science, "Humidity and curing"; 6 points at least for a
    # probe that nobody checked.
    assert 'value="79.5"' in page
    assert 'value="85.5"' in page
    assert "nobody has checked this probe" in page
    assert "University of Guelph" in page
    assert "common practice, no source" in page


def test_a_checked_probe_may_have_the_narrow_band(
    owner: TestClient, engine: Engine, settings: Settings, cave: str
) -> None:
    with engine.begin() as db:
        a_placement(db, "cellar-1", cave)
        a_calibration(db, "cellar-1", "humidity")
    keep(settings, [an_arrival(a_sample(0), a_sample(0, 88, "humidity", "%RH"))])
    page = owner.get(f"/targets/{cave}?preset=dry").text
    assert 'value="80"' in page
    assert 'value="85"' in page
    assert "nobody has checked this probe" not in page


def test_an_offer_is_laid_over_the_target_that_holds(owner: TestClient, engine: Engine, cave: str) -> None:
    with engine.begin() as db:
        a_target(db, cave)
    page = owner.get(f"/targets/{cave}?humidity_high_pct=95&grace_min=210&temperature_low_c=nan&x=1").text
    assert 'value="95"' in page
    assert 'value="82"' in page
    assert 'value="3 h 30 min"' in page
    assert 'value="10"' in page


def test_the_form_speaks_the_households_unit(owner: TestClient, engine: Engine, cave: str) -> None:
    owner.post("/settings/household", data={
        "dairy_name": "", "time_zone": "UTC", "temperature_unit": "F", "weight_unit": "lb", "date_form": "month-day",
    })  # fmt: skip
    owner.post(f"/targets/{cave}", data={**GOOD, "temperature_low_c": "50", "temperature_high_c": "57.2"})
    # 50 F is 10 C and 57.2 F is 14 C by NIST SP 811 (2008), B.8.
    (kept,) = targets_of(engine, cave)
    assert (kept.temperature_low_c, kept.temperature_high_c) == (pytest.approx(10), pytest.approx(14))
    assert 'value="57.2"' in owner.get(f"/targets/{cave}").text


def test_a_guest_sees_the_target_and_no_form(guest: TestClient, engine: Engine, cave: str) -> None:
    with engine.begin() as db:
        a_target(db, cave)
    page = guest.get(f"/targets/{cave}").text
    assert "10.0 to 14.0 °C" in page
    assert "<form" not in page
    assert guest.get(f"/targets/{cave}/try").status_code == 403
    assert guest.get("/targets/nowhere").status_code == 404


@pytest.fixture
def a_dry_day(engine: Engine, settings: Settings, cave: str) -> str:
    """Two good days, ten hours at 79.5 %, and a good day, ending now."""
    with engine.begin() as db:
        a_placement(db, "cellar-1", cave)
        a_target(db, cave)
    hours = [87.0] * 48 + [79.5] * 10 + [87.0] * 24
    end_min = (NOW_AT - datetime(2026, 3, 2, 6, 0, tzinfo=UTC)).total_seconds() / 60
    start = end_min - 60 * len(hours)
    keep(settings, [
        an_arrival(
            a_sample(start + 10 * i, 12.0 + i % 3 / 50),
            a_sample(start + 10 * i, hours[i // 6] + i % 4 / 20, "humidity", "%RH"),
        )
        for i in range(6 * len(hours))
    ])  # fmt: skip
    return cave


def test_trying_tells_what_would_have_been_raised_and_keeps_nothing(
    owner: TestClient, engine: Engine, a_dry_day: str
) -> None:
    before = targets_of(engine, a_dry_day)
    page = owner.get(f"/targets/{a_dry_day}/try", params={**GOOD, "humidity_low_pct": "78"}).text
    # Ten hours in the air are about as many in the hourly mean that is judged.
    row = re.search(r'<th scope="row">too dry</th><td>1, (\d+) h[^<]* in all</td><td>none</td>', page)
    assert row
    assert int(row[1]) in (9, 10, 11)
    assert "Nothing is changed by trying." in page
    assert 'value="78"' in page
    assert targets_of(engine, a_dry_day) == before


def test_trying_a_target_that_suits_says_so(owner: TestClient, engine: Engine, a_dry_day: str) -> None:
    with engine.begin() as db:
        a_target(db, a_dry_day, NOW_AT - timedelta(days=299), humidity_low_pct=70.0)
    page = owner.get(f"/targets/{a_dry_day}/try", params={**GOOD, "humidity_low_pct": "75"}).text
    assert "Neither what was asked nor what is typed below would have warned." in page


def test_trying_a_narrow_band_with_an_unchecked_probe_warns(owner: TestClient, engine: Engine, a_dry_day: str) -> None:
    page = owner.get(f"/targets/{a_dry_day}/try", params={**GOOD, "humidity_low_pct": "88"}).text
    assert "narrower than an unchecked probe may be off" in page


def test_trying_what_cannot_be_is_refused(owner: TestClient, engine: Engine, cave: str) -> None:
    answer = owner.get(f"/targets/{cave}/try", params={**GOOD, "grace": "long"})
    assert answer.status_code == 422
    assert 'value="long"' in answer.text
