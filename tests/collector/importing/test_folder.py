"""The import folder: a log and its description are taken in once, whole, and told of."""

from collections.abc import Iterator, Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import MappingProxyType

import pytest

from collector.clock import ManualClock
from collector.importing.csv_file import ROWS_A_STEP, write_form
from collector.importing.csv_form import LogForm, ValueColumn
from collector.importing.folder import LINES_A_STEP, ImportFolder
from collector.intake.intake import Intake
from collector.intake.payloads import FieldHints
from collector.readings.model import Mark
from collector.readings.raw_from import set_raw_from
from collector.readings.store import SqliteReadings
from collector.records.columns import to_ms
from collector.records.engine import open_records, reading
from collector.records.life import signs
from collector.records.migrate import migrate

NOW_AT = datetime(2026, 3, 12, tzinfo=UTC)
START_AT = datetime(2025, 1, 1, tzinfo=UTC)
COLUMNS = (ValueColumn(1, "humidity", "humidity", "%RH"),)
FORM = LogForm("utf-8-sig", ";", ".", 1, (0,), "ymd", "UTC", False, COLUMNS, "old-1", "old-1/log")


class NoChoices:
    """Nobody chose anything."""

    filters = ()
    hints: Mapping[str, FieldHints] = MappingProxyType({})


class House:
    """A store, records, and the folder between them."""

    def __init__(self, data: Path) -> None:
        self.folder = data / "import"
        self.folder.mkdir()
        self.records = open_records(f"sqlite:///{data / 'records.sqlite3'}")
        migrate(self.records)
        self.store = SqliteReadings(data / "readings.sqlite3")
        clock = ManualClock(NOW_AT)
        intake = Intake(self.store, clock, NoChoices(), lambda _kind, _said: None)
        self.work = ImportFolder(self.folder, self.store, self.records, clock, intake)

    def take_in(self) -> None:
        while self.work.step():
            pass

    def kept(self) -> list[tuple[int, float, int]]:
        with self.store.transaction() as db:
            return db.execute("SELECT taken_ms, value, mark FROM reading ORDER BY taken_ms").fetchall()


@pytest.fixture
def house(tmp_path: Path) -> Iterator[House]:
    house = House(tmp_path)
    yield house
    house.store.close()
    house.records.dispose()


def log_of(rows: int) -> str:
    lines = [f"{START_AT + timedelta(minutes=i):%Y-%m-%d %H:%M};{80 + i % 10}" for i in range(rows)]
    return "time;humidity\n" + "\n".join(lines) + "\n"


def test_every_row_of_a_log_longer_than_a_step_is_kept_and_marked(house: House) -> None:
    (house.folder / "old.csv").write_text(log_of(2 * ROWS_A_STEP + 7))
    write_form(house.folder / "old.csv", FORM)
    house.take_in()
    kept = house.kept()
    assert len(kept) == 2 * ROWS_A_STEP + 7
    assert all(mark & Mark.IMPORTED for _, _, mark in kept)
    assert not (house.folder / "old.csv").exists()
    assert (house.folder / "done" / "old.csv").exists()


def test_every_line_of_messages_longer_than_a_step_is_kept(house: House) -> None:
    stamp = int(START_AT.timestamp())
    lines = [f'["rindwatch/a/readings", [{{"n":"humidity","u":"%RH","v":{80 + i % 9},"t":{stamp + 60 * i}}}]]'
             for i in range(2 * LINES_A_STEP + 7)]  # fmt: skip
    (house.folder / "old.jsonl").write_text("\n".join(lines))
    house.take_in()
    assert len(house.kept()) == 2 * LINES_A_STEP + 7


def test_the_same_log_again_changes_nothing(house: House) -> None:
    for name in ("one.csv", "two.csv"):
        (house.folder / name).write_text(log_of(50))
        write_form(house.folder / name, FORM)
        house.take_in()
    assert len(house.kept()) == 50


def test_a_log_without_a_description_waits(house: House) -> None:
    (house.folder / "old.csv").write_text(log_of(5))
    house.take_in()
    assert house.kept() == []
    assert (house.folder / "old.csv").exists()


def test_a_description_that_cannot_be_read_lets_the_log_wait(house: House) -> None:
    (house.folder / "old.csv").write_text(log_of(5))
    (house.folder / "old.csv.form.json").write_text("{")
    house.take_in()
    assert house.kept() == []
    assert (house.folder / "old.csv").exists()


def test_rows_that_cannot_be_read_are_counted_and_the_rest_is_kept(house: House) -> None:
    (house.folder / "old.csv").write_text("time;humidity\nsoon;81\n2025-01-01 00:00;ERROR\n2025-01-01 00:01;82\n")
    write_form(house.folder / "old.csv", FORM)
    house.take_in()
    assert [value for _, value, _ in house.kept()] == [82]
    with house.store.transaction() as db:
        assert db.execute("SELECT count(*) FROM reject WHERE reason LIKE '%time cannot be read%'").fetchone()[0] == 1


def test_what_is_older_than_the_readings_kept_one_by_one_is_counted_apart(house: House) -> None:
    with house.store.transaction() as db:
        set_raw_from(db, to_ms(START_AT + timedelta(minutes=30)))
    (house.folder / "old.csv").write_text(log_of(50))
    write_form(house.folder / "old.csv", FORM)
    house.take_in()
    with reading(house.records) as db:
        facts = signs(db)["import"].facts
    assert (facts["rows"], facts["aside"], facts["refused"]) == (20, 30, 0)
    assert len(house.kept()) == 20
