"""Data folders of every released version, opened by the newest code with all that is in them; newer ones refused."""

import sqlite3
import zipfile
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from collector.errors import NotPrepared, SchemaTooNew
from collector.prepare import prepare, prepare_apart
from collector.readings.reader import Readings
from collector.records.engine import open_records, reading
from collector.records.places import load_facts
from collector.records.warnings import warnings
from collector.settings import Settings
from dashboard.wheels.book import wheel_book, wheels
from dashboard.wheels.photo_files import whole
from tests.builders import at, ms
from tests.collector.backup.everything import every_file
from tests.upgrade.make_folder import DAYS

RELEASED = sorted((Path(__file__).parent / "released").glob("*.zip"))
# What the newest code writes when it opens an older folder; everything else must be as it was. Packs are rollups once
# more, and are made anew.
WRITTEN_BY_UPGRADE = {"records_version", "book_version", "pack"}


@pytest.fixture(params=RELEASED, ids=lambda path: path.stem)
def old(request: pytest.FixtureRequest, tmp_path: Path) -> Settings:
    with zipfile.ZipFile(request.param) as file:
        file.extractall(tmp_path / "data")
    return Settings(data=tmp_path / "data")


def tables(path: Path) -> dict[str, list[dict[str, object]]]:
    """Every row of every table, by the names of its columns."""
    with closing(sqlite3.connect(path)) as db:
        db.row_factory = sqlite3.Row
        names = [row[0] for row in db.execute("SELECT name FROM sqlite_schema WHERE type='table'")]
        return {name: [dict(row) for row in db.execute(f'SELECT * FROM "{name}"')] for name in names}


def test_there_is_a_folder_of_each_released_version_and_it_is_small() -> None:
    assert [path.stem for path in RELEASED] == ["0.1.0"]
    assert all(path.stat().st_size < 200_000 for path in RELEASED)


def test_every_row_of_every_table_and_every_file_is_kept(old: Settings) -> None:
    before = {name: tables(old.data / name) for name in ("readings.sqlite3", "records.sqlite3")}
    files = every_file(old.data)
    prepare(old)
    prepare(old)  # again is harmless
    for name, there in before.items():
        after = tables(old.data / name)
        assert there.keys() <= after.keys()
        for table in there.keys() - WRITTEN_BY_UPGRADE:
            kept = [{column: row.get(column, "the column is gone") for column in there[table][0]}
                    for row in after[table]] if there[table] else []  # fmt: skip
            assert sorted(kept, key=repr) == sorted(there[table], key=repr), table
    assert every_file(old.data) == files
    assert sum(len(rows) for there in before.values() for rows in there.values()) > 7_000


def test_the_readings_are_read_as_they_were(old: Settings) -> None:
    prepare(old)
    readings = Readings(old.readings_path)
    number = {(c.probe, c.field): c.id for c in readings.channels()}
    assert set(number) == {
        ("cellar-1", "temperature"), ("cellar-1", "humidity"), ("attic", "temperature"), ("dial", "temperature"),
        ("late", "temperature"), ("flight", "temperature"),
    }  # fmt: skip
    day = readings.series(number["cellar-1", "temperature"], ms(0), ms(60 * 24))
    assert day.value.tolist() == [12.0 + i % 5 / 10 for i in range(144)]  # as make_folder wrote them
    whole_span = readings.rollups(number["cellar-1", "temperature"], ms(0), ms(60 * 24 * DAYS))
    assert len(whole_span) == 144 * DAYS
    assert whole_span.mean.max() == pytest.approx(19.4)
    readings.close()


def test_the_records_and_the_book_are_read_as_they_were(old: Settings) -> None:
    prepare(old)
    records = open_records(old.records_at)
    with reading(records) as db:
        facts = load_facts(db)
        found = warnings(db)
        book = wheels(db)
        whole_book = wheel_book(db, book[0].id)
        photos = db.exec_driver_sql("SELECT content_hash, small_hash FROM photo").all()
    records.dispose()
    assert [target.temperature_high_c for rows in facts.targets.values() for target in rows] == [13.0]
    assert {warning.rule for warning in found} == {"too_warm", "wheels_may_sweat"}
    warm = next(warning for warning in found if warning.rule == "too_warm")
    assert at(60 * 24 * 6) <= warm.opened_at <= at(60 * 24 * 6 + 180)
    assert [wheel.code for wheel in book].count("24-07B") == 1
    assert whole_book is not None
    assert (
        len(whole_book.entries) == 7
    )  # the wheel's sheet, a move, two weighings, wax, a note, a cut; the turn is undone
    for row in photos:
        assert all(whole(old.data / "photos" / content[:2] / f"{content}.jpg", content) for content in row)


def _readings_from_the_future(data: Path) -> None:
    with closing(sqlite3.connect(data / "readings.sqlite3")) as db:
        db.execute("PRAGMA user_version=99")


def _table_from_the_future(table: str) -> Callable[[Path], None]:
    def change(data: Path) -> None:
        with closing(sqlite3.connect(data / "records.sqlite3")) as db, db:
            db.execute(f"UPDATE {table} SET version_num='0099'")

    return change


@pytest.mark.parametrize(
    "newer",
    [_readings_from_the_future, _table_from_the_future("records_version"), _table_from_the_future("book_version")],
    ids=["readings", "records", "book"],
)
def test_a_folder_of_a_newer_version_is_refused_and_left_as_it_is(old: Settings, newer: Callable[[Path], None]) -> None:
    prepare(old)
    newer(old.data)
    before = {name: tables(old.data / name) for name in ("readings.sqlite3", "records.sqlite3")}
    with pytest.raises(SchemaTooNew, match=r"was written by a newer version \(its form is (0099|99), known is"):
        prepare(old)
    with pytest.raises(NotPrepared, match="was written by a newer version"):
        prepare_apart(old)
    assert {name: tables(old.data / name) for name in before} == before
