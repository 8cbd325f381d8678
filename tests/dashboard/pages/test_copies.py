"""The page of copies: the place is asked for, a copy goes there at once, and what went wrong is told."""

from datetime import timedelta

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine

from collector.automatic_copies import copy_due
from collector.backup import second_place
from collector.backup.second_place import SecondPlace
from collector.clock import ManualClock
from collector.copies import FAILED, SECOND, TRIAL
from collector.records.columns import to_ms
from collector.records.life import sign
from collector.records.tables import setting

SHARE = {"kind": "folder", "where": "/mnt/usb/rindwatch"}


def test_a_place_is_kept_and_a_copy_is_asked_for(owner: TestClient, engine: Engine, clock: ManualClock) -> None:
    assert owner.post("/settings/copies", data=SHARE).status_code == 303
    with engine.connect() as db:
        assert second_place.load(db) == SecondPlace("folder", "/mnt/usb/rindwatch")
        asked = db.execute(setting.select().where(setting.c.key == "copies.asked")).one().value
    assert asked == to_ms(clock.now())
    assert copy_due(clock.now(), None, clock.now(), None)
    assert 'value="/mnt/usb/rindwatch"' in owner.get("/settings/copies").text


def test_what_is_no_place_is_refused_with_the_text_kept(owner: TestClient, engine: Engine) -> None:
    answer = owner.post("/settings/copies", data={"kind": "rsync", "where": "-e sh:x"})
    assert answer.status_code == 422
    assert "It must look like keeper@nas:rindwatch." in answer.text
    assert 'value="-e sh:x"' in answer.text
    with engine.connect() as db:
        assert not second_place.load(db)


def test_a_second_place_that_took_none_and_a_trial_that_failed_are_told(
    owner: TestClient, engine: Engine, clock: ManualClock
) -> None:
    owner.post("/settings/copies", data=SHARE)
    sign(engine, "copy", clock.now(), {"bytes": 12_345_678, "other_disk": False})
    sign(engine, SECOND, clock.now(), {"where": SHARE["where"], "reason": "the folder is not there", "good_ms": None})
    sign(engine, TRIAL, clock.now(), {"well": False, "reason": "damaged in photos/a.jpg"})
    for path in ("/settings", "/settings/copies"):
        page = owner.get(path).text
        assert "the folder is not there" in page
        assert "damaged in photos/a.jpg. Make a new one" in page
        assert "on the same disk" in page
    assert "12.3 MB" in owner.get("/settings/copies").text


def test_a_copy_at_the_second_place_is_one_outside_and_a_good_trial_says_what_came_back(
    owner: TestClient, engine: Engine, clock: ManualClock
) -> None:
    owner.post("/settings/copies", data=SHARE)
    sign(engine, "copy", clock.now(), {"bytes": 1, "other_disk": False})
    sent_ms = to_ms(clock.now() - timedelta(days=2))
    sign(engine, SECOND, clock.now(), {"where": SHARE["where"], "reason": "", "good_ms": sent_ms})
    sign(engine, TRIAL, clock.now(), {"well": True, "readings": 800, "tables": 41, "photos": 4})
    page = owner.get("/settings/copies").text
    assert "on another disk was made" in page
    assert "2 days ago" in page
    assert "800 readings, 41 tables and 4 photos came back as they were" in page


@pytest.mark.parametrize("path", ["/settings/copies", "/settings/copies/now"])
def test_only_the_owner_changes_it(visitor, path: str) -> None:  # type: ignore[no-untyped-def]
    assert visitor("helper").post(path, data=SHARE).status_code == 403


def test_why_the_last_copy_could_not_be_made_is_told(owner: TestClient, engine: Engine, clock: ManualClock) -> None:
    owner.post("/settings/copies", data=SHARE)
    sign(engine, FAILED, clock.now(), {"reason": "/mnt/usb: the folder is not there"})
    assert "/mnt/usb: the folder is not there. It is tried again each hour." in owner.get("/settings/copies").text
    sign(engine, FAILED, clock.now(), {"reason": ""})
    assert "It is tried again each hour" not in owner.get("/settings/copies").text
