"""How the copying to a second store is told, in the keeper's words."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine

from collector.clock import ManualClock
from collector.records.life import Sign, sign
from dashboard.second_store_shown import second_store_shown
from tests.dashboard.conftest import NOW_AT

HOUR, MINUTE = timedelta(hours=1), timedelta(minutes=1)


def facts(**more: Any) -> dict[str, Any]:
    told = {"state": "following", "began_at": NOW_AT - 48 * HOUR, "complete_at": NOW_AT, "since": NOW_AT, **more}
    return {name: value.isoformat() if isinstance(value, datetime) else value for name, value in told.items()}


def said(at: datetime = NOW_AT, **more: Any) -> Mapping[str, Sign]:
    return {"follower": Sign("follower", at, facts(**more)), "collector": Sign("collector", NOW_AT, {})}


@pytest.mark.parametrize(
    ("state", "complete_at", "shown"),
    [
        ("following", NOW_AT - MINUTE, "complete"),
        ("following", NOW_AT - 10 * MINUTE, "behind"),
        ("following", None, "behind"),
        ("away", NOW_AT, "away"),
        ("shut", None, "shut"),
    ],
)
def test_its_state_goes_by_what_is_missing(state: str, complete_at: datetime | None, shown: str) -> None:
    found = second_store_shown(said(state=state, complete_at=complete_at))
    assert found is not None
    assert found.state == shown


def test_one_that_was_turned_off_is_not_shown() -> None:
    assert second_store_shown({}) is None
    assert second_store_shown(said(at=NOW_AT - HOUR)) is None


PAGES = {
    "complete": (facts(), "It is complete up to 14:10."),
    "behind": (facts(complete_at=NOW_AT - 3 * HOUR), "It is behind by 3 h, and catching up."),
    "left": (facts(complete_at=NOW_AT - 3 * HOUR, left_s=1_200), "That takes about 20 min more."),
    "filled": (facts(complete_at=None), "It is being filled since 10 March 14:10."),
    "away": (facts(state="away", since=NOW_AT - HOUR), "It has not answered since 13:10."),
    "kept": (facts(state="away"), "Nothing is lost: what is missing there is kept here"),
    "shut": (facts(state="shut"), "It has not let this machine in since 14:10."),
    "refused": (facts(set_aside=12), "12 readings or means were not taken there"),
}


@pytest.mark.parametrize("name", PAGES)
def test_the_page_says_it_in_plain_words(owner: TestClient, engine: Engine, clock: ManualClock, name: str) -> None:
    clock.set(NOW_AT)
    own, wanted = PAGES[name]
    sign(engine, "collector", NOW_AT, {})
    sign(engine, "follower", NOW_AT, own | {"reason": "the database at http://influxdb:8086 does not answer"})
    for path in ("/settings/copies", "/settings/keeping"):
        page = owner.get(path).text
        assert wanted in page
        assert "influx" not in page.lower()


def test_a_house_without_one_is_told_of_none(owner: TestClient) -> None:
    assert "Second store" not in owner.get("/settings/copies").text
