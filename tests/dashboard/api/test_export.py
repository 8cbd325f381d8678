"""CSV as a spreadsheet and a program read it."""

import csv
import io
from datetime import UTC, datetime, timedelta

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine, update

from collector.readings.model import Arrival, Mark, Sample
from collector.records.columns import to_ms
from collector.records.tables import setting
from collector.settings import Settings
from tests.dashboard.dairy import a_place, a_placement, a_warning, keep
from tests.dashboard.places_seen import a_message, messages

# The clocks of central Europe go back on 2026-10-25 at 01:00 UTC (directive 2000/84/EC).
OCTOBER = datetime(2026, 10, 25, 1, tzinfo=UTC)


def rows_of(text: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(text)))


def asked(from_at: datetime, to_at: datetime) -> dict[str, str]:
    return {"from": from_at.isoformat(), "to": to_at.isoformat()}


@pytest.fixture
def zurich(engine: Engine) -> None:
    with engine.begin() as db:
        db.execute(update(setting).where(setting.c.key == "household.time_zone").values(value="Europe/Zurich"))


def test_a_places_air_has_household_time_and_utc_through_the_change_of_clocks(
    guest: TestClient, settings: Settings, engine: Engine, zurich: None
) -> None:
    with engine.begin() as db:
        place_id = a_place(db, "Lower fridge!")
        a_placement(db, "cellar-1", place_id)
    start = to_ms(OCTOBER - timedelta(minutes=40))
    keep(settings, [a_message("cellar-1", start + 600_000 * i, 12.0, 88.0) for i in range(9)])
    span = asked(OCTOBER - timedelta(minutes=40), OCTOBER + timedelta(minutes=40))
    answer = guest.get(f"/api/places/{place_id}/air.csv", params=span)
    assert answer.headers["content-type"] == "text/csv; charset=utf-8"
    assert 'filename="lower-fridge-20261025-20261025.csv"' in answer.headers["content-disposition"]
    head, *rows = rows_of(answer.text)
    assert head[:4] == ["time (Europe/Zurich)", "time (UTC)", "temperature mean (degC)", "temperature lowest (degC)"]
    assert [row[0][11:16] for row in rows] == ["02:20", "02:30", "02:40", "02:50", "02:00", "02:10", "02:20", "02:30"]
    assert [row[1] for row in rows][3:5] == ["2026-10-25 00:50:00", "2026-10-25 01:00:00"]
    assert rows[0][2:6] == ["12.0", "12.0", "12.0", "middle of the probes"]
    # Magnus' formula, WMO-No. 8, annex 4.B: 10.07 degC.
    assert float(rows[0][head.index("dew point (degC)")]) == pytest.approx(10.07, abs=0.03)


def test_unknown_time_is_left_out(guest: TestClient, settings: Settings, engine: Engine) -> None:
    with engine.begin() as db:
        place_id = a_place(db)
        a_placement(db, "cellar-1", place_id)
    keep(settings, [a_message("cellar-1", to_ms(OCTOBER) + 600_000 * i, 12.0, None) for i in (0, 1, 2, 30, 31)])
    answer = guest.get(f"/api/places/{place_id}/air.csv", params=asked(OCTOBER, OCTOBER + timedelta(hours=6)))
    rows = rows_of(answer.text)[1:]
    assert len(rows) < 12
    assert rows[0][6:9] == ["", "", ""]


def test_fahrenheit_households_get_fahrenheit(guest: TestClient, settings: Settings, engine: Engine) -> None:
    with engine.begin() as db:
        db.execute(setting.insert(), [{"key": "household.temperature_unit", "value": "F"}])
        place_id = a_place(db)
        a_placement(db, "cellar-1", place_id)
    keep(settings, messages(hours=1))
    answer = guest.get(
        f"/api/places/{place_id}/air.csv", params={"from": "2026-03-12T13:40Z", "to": "2026-03-12T14:00Z"}
    )
    head, first, *_ = rows_of(answer.text)
    assert (head[2], first[2]) == ("temperature mean (degF)", "53.6")


def test_readings_of_a_channel_say_how_they_came_and_what_is_doubtful(
    guest: TestClient, settings: Settings, engine: Engine
) -> None:
    taken = to_ms(OCTOBER)
    marks = (Mark.NONE, Mark.IMPORTED, Mark.AT_THE_LATEST, Mark.TIME_OF_ARRIVAL)
    sent = [Sample("t", taken + i * 60_000, 54.0, "degF", "temperature", mark) for i, mark in enumerate(marks)]
    keep(settings, [Arrival("p", "p", taken, tuple(sent))])
    with engine.begin() as db:
        a_placement(db, "p", a_place(db))
        a_warning(
            db, "stuck", probe="p", field="t", facts={}, opened_at=OCTOBER, cleared_at=OCTOBER + timedelta(seconds=90)
        )
    number = guest.get("/api/channels").json()[0]["id"]
    span = asked(OCTOBER, OCTOBER + timedelta(hours=1))
    head, *rows = rows_of(guest.get(f"/api/channels/{number}/readings.csv", params=span).text)
    assert head[2:] == ["temperature (degC)", "as sent", "unit as sent", "doubtful", "how", "time is"]
    assert [row[2:] for row in rows] == [
        ["12.222", "54.0", "degF", "yes", "", ""],
        ["12.222", "54.0", "degF", "yes", "imported", ""],
        ["12.222", "54.0", "degF", "", "", "at the latest"],
        ["12.222", "54.0", "degF", "", "", "of arrival"],
    ]


def test_what_strangers_sent_is_no_formula(guest: TestClient, settings: Settings) -> None:
    sent = Sample("=1+1", to_ms(OCTOBER), -5.0, "=HYPERLINK(1)", None)
    keep(settings, [Arrival("@probe", "t", sent.taken_ms, (sent,))])
    number = guest.get("/api/channels").json()[0]["id"]
    answer = guest.get(f"/api/channels/{number}/readings.csv", params=asked(OCTOBER, OCTOBER + timedelta(hours=1)))
    (row,) = rows_of(answer.text)[1:]
    assert (row[3], row[4]) == ("-5.0", "'=HYPERLINK(1)")
    assert 'filename="probe-1-1-20261025-20261025.csv"' in answer.headers["content-disposition"]


def test_an_export_has_no_limit(guest: TestClient, settings: Settings, engine: Engine) -> None:
    with engine.begin() as db:
        place_id = a_place(db)
        a_placement(db, "cellar-1", place_id)
    keep(settings, messages(hours=2))
    span = {"from": "2016-01-01T00:00Z", "to": "2026-12-31T00:00Z"}
    answer = guest.get(f"/api/places/{place_id}/air.csv", params=span)
    assert 12 <= len(rows_of(answer.text)) - 1 <= 16
