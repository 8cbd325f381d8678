"""The look-back from a rind note: page, file and command over a small house with readings."""

import re
from datetime import timedelta

import numpy as np
import pytest
from click.testing import CliRunner
from fastapi.testclient import TestClient
from sqlalchemy import Engine

from collector.errors import SchemaMissing
from collector.readings import packs
from collector.readings.rollups import rebuild
from collector.readings.store import SqliteReadings
from collector.records.columns import new_id, to_ms
from collector.settings import Settings
from dashboard.commands import lookback
from dashboard.lookback.found import FOUND
from dashboard.lookback_child import LookBackStopped, answer, look_back_in_child
from dashboard.wheels.bodies.doings import Care, Looked, RindNote, Withdrawn
from tests.dashboard.book_kept import a_style, a_wheel, enter
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.dairy import a_place, a_placement
from tests.dashboard.pages.test_caves import words_of

DAY_MS, STEP_MS = 86_400_000, 3_600_000
RECORD_D = 240
DAMP_D = (34.0, 29.0)  # days ago


def readings_kept(settings: Settings, since_d: int = RECORD_D, gap_d: tuple[float, float] = (0, 0)) -> None:
    """Hourly readings of one probe, damp for five days, straight into the tables; a gap where asked for."""
    now_ms = to_ms(NOW_AT)
    taken = np.arange(now_ms - since_d * DAY_MS, now_ms, STEP_MS, dtype=np.int64)
    ago_d = (now_ms - taken) / DAY_MS
    drawn = np.random.default_rng(3)
    damp = np.clip(2 * np.minimum(DAMP_D[0] - ago_d, ago_d - DAMP_D[1]), 0, 1)  # half a day to come, half a day to go
    values = {
        ("temperature", "Cel"): 12 + 0.3 * np.sin(ago_d) + drawn.normal(0, 0.05, len(taken)),
        ("humidity", "%RH"): 88 + np.sin(ago_d / 3) + drawn.normal(0, 0.4, len(taken)) + 8 * damp,
    }
    there = ~((ago_d <= gap_d[0]) & (ago_d > gap_d[1]))
    store = SqliteReadings(settings.readings_path)
    with store.transaction() as db:
        db.execute("INSERT INTO probe (name, topic, first_ms, last_ms, messages) VALUES ('p','p/r',?,?,1)", (0, now_ms))
        for (name, code), value in values.items():
            db.execute("INSERT INTO unit (code) VALUES (?)", (code,))
            unit = db.execute("SELECT id FROM unit WHERE code=?", (code,)).fetchone()[0]
            row = ("p", name, name, code, now_ms)
            sql = "INSERT INTO channel (probe, field, quantity, unit, first_ms) VALUES (?,?,?,?,?)"
            channel = int(db.execute(sql, row).lastrowid or 0)
            rows = zip(taken[there].tolist(), value[there].tolist(), strict=True)
            db.executemany("INSERT INTO reading VALUES (?,?,?,?,200,0)", ((channel, at, one, unit) for at, one in rows))
            rebuild(db, channel, int(taken[0]), now_ms)
        while packs.make_due(db, now_ms):
            pass
    store.close()


@pytest.fixture
def notes(settings: Settings, engine: Engine) -> dict[str, str]:
    """A cellar with three tommes: A1 got black spots after the damp, A2 stayed clean, A3 is an early blown one."""
    readings_kept(settings)
    with engine.begin() as db:
        place, style = a_place(db, "Cellar"), a_style(db)
        a_placement(db, "p", place)
        wheels = {code: a_wheel(db, code, 230, place, style_id=style) for code in ("A1", "A2", "A3")}
        for wheel_id in wheels.values():
            for ago in (80, 66, 52, 45, 38, 31, 24):
                enter(db, Care(care="turned"), ago, wheel_id=wheel_id)
            enter(db, Looked(), 28, wheel_id=wheel_id)
        found = {"A1": enter(db, RindNote(note="black_spots"), 20, wheel_id=wheels["A1"])}
        enter(db, Looked(), 15, wheel_id=wheels["A2"])
        found["A3"] = enter(db, RindNote(note="early_blown"), 225, wheel_id=wheels["A3"])
    return found


def path_of(note_id: str) -> str:
    return f"/rind/notes/{note_id}/look-back"


def test_a_damp_spell_before_the_note_comes_first_as_a_rank(guest: TestClient, notes: dict[str, str]) -> None:
    page = guest.get(path_of(notes["A1"])).text
    said = words_of(page)
    assert "Black spots on A1" in said
    assert "Too damp for a tomme: that was unusual before this. It proves nothing yet." in said
    hours = re.search(r"Too damp for a tomme for (\d+) h; in your usual \d+ days 0 h; more than in 9\d of 100", said)
    assert hours is not None
    assert 100 <= int(hours[1]) <= 116
    assert "Seen once so far" in said
    assert "Compared with the last 8 months, since there is no second year yet" in said
    assert "last seen clean on 12 February" in said
    # Beside it stand the wheels that stayed clean, the care, and what the trade says.
    assert "In the same place at that time, looked at since, and clean: A2." in said
    assert "At the longest not turned for" in said
    assert "In the air long damp" in said
    assert "Day by day" in said
    assert page.count('<svg class="strip"') >= 5
    assert "<style" not in page
    assert "style=" not in page
    # It was opened from the note on the wheel's page.
    wheel_path = re.search(r'class="back" href="(/wheels/[^"]+)"', page)
    assert wheel_path is not None
    assert path_of(notes["A1"]) in guest.get(wheel_path[1]).text


def test_what_never_comes_from_the_air_is_refused(guest: TestClient, notes: dict[str, str]) -> None:
    said = words_of(guest.get(path_of(notes["A3"])).text)
    assert "This is not a question for the cave" in said
    assert "Against the usual" not in said


def test_the_file_to_share_stands_alone(guest: TestClient, notes: dict[str, str]) -> None:
    answer = guest.get(f"{path_of(notes['A1'])}/file")
    assert "attachment" in answer.headers["content-disposition"]
    assert "black-spots-on-a1.html" in answer.headers["content-disposition"]
    assert "Too damp for a tomme" in words_of(answer.text)
    assert "<svg" in answer.text
    # What it carries draws and styles; nothing in it asks any other machine for anything.
    for outside in ("<script", "<link", "src=", "@import", "url(", "http://", "https://"):
        assert outside not in answer.text, outside


def test_there_is_no_look_back_of_a_note_that_is_not_there(
    guest: TestClient, notes: dict[str, str], engine: Engine
) -> None:
    assert guest.get(path_of(new_id())).status_code == 404
    with engine.begin() as db:
        enter(db, Withdrawn(), 0, replaces=notes["A1"])
    gone = guest.get(path_of(notes["A1"]))
    assert gone.status_code == 404
    assert "There is no such rind note." in gone.text


def test_without_readings_it_says_so(guest: TestClient, settings: Settings, engine: Engine) -> None:
    SqliteReadings(settings.readings_path).close()
    with engine.begin() as db:
        wheel = a_wheel(db, "B1", 60, a_place(db))
        note = enter(db, RindNote(note="crack"), 10, wheel_id=wheel)
    said = words_of(guest.get(path_of(note)).text)
    assert "The readings cannot tell: nothing was measured where the wheel stood at that time." in said


def test_a_gap_in_the_window_is_named(settings: Settings, engine: Engine) -> None:
    readings_kept(settings, gap_d=(40.0, 24.0))
    with engine.begin() as db:
        place = a_place(db)
        a_placement(db, "p", place)
        wheel = a_wheel(db, "C1", 230, place, style_id=a_style(db))
        enter(db, Looked(), 28, wheel_id=wheel)
        note = enter(db, RindNote(note="black_spots"), 20, wheel_id=wheel)
    found = FOUND.validate_json(answer(asked_of(settings, note)))
    assert found.verdict == "no_readings"
    assert found.known == pytest.approx(1 - 16 / 23, abs=0.05)


def asked_of(settings: Settings, note_id: str) -> dict[str, str]:
    return {
        "readings": str(settings.readings_path), "records": settings.records_at, "note": note_id,
        "now": NOW_AT.isoformat(), "zone": "UTC",
    }  # fmt: skip


def test_a_child_that_falls_over_is_told_of(settings: Settings, notes: dict[str, str]) -> None:
    nowhere = f"sqlite:///{settings.data / 'nowhere' / 'records.sqlite3'}"
    with pytest.raises(LookBackStopped, match="the look-back was stopped"):
        look_back_in_child(settings.readings_path, nowhere, notes["A1"], NOW_AT, "UTC")


def test_readings_that_are_not_there_are_told_before_a_child_is_asked(
    settings: Settings, notes: dict[str, str]
) -> None:
    with pytest.raises(SchemaMissing):
        look_back_in_child(settings.data / "nowhere.sqlite3", settings.records_at, notes["A1"], NOW_AT, "UTC")


def test_a_note_after_the_newest_reading_is_not_made_up(settings: Settings, notes: dict[str, str]) -> None:
    later = NOW_AT + timedelta(days=400)
    asked = {**asked_of(settings, notes["A1"]), "now": later.isoformat()}
    found = FOUND.validate_json(answer(asked))
    assert found.ranks
    assert found.known == pytest.approx(1.0, abs=0.02)


def test_the_command_prints_the_same(settings: Settings, notes: dict[str, str]) -> None:
    done = CliRunner().invoke(lookback, ["A1"], obj=settings)
    assert done.exit_code == 0, done.output
    assert done.output.startswith("Black spots on A1\n")
    assert "Too damp for a tomme" in done.output
    assert "clean: A2" in done.output
    wrong = CliRunner().invoke(lookback, ["Z9"], obj=settings)
    assert wrong.exit_code == 1
    assert "There is no wheel Z9." in wrong.output
