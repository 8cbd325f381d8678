"""The invented dairy with its book, written once."""

import shutil
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlalchemy import Connection, Engine

from collector.demo.diary import DIARY, Diary
from collector.demo.quillfold import QUILLFOLD
from collector.demo.settling import settle
from collector.records.columns import from_ms, to_ms
from collector.records.engine import open_records
from collector.settings import Settings
from dashboard.demo_book.fill import fill

SEED = 7
ANCHOR_AT = datetime(2026, 11, 25, 15, tzinfo=UTC)


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory, empty_records: Path) -> Settings:
    """A data folder in which the demo has settled and written its book."""
    folder = tmp_path_factory.mktemp("demo")
    shutil.copy(empty_records, folder / "records.sqlite3")
    Diary(SEED, to_ms(ANCHOR_AT)).save(folder / DIARY)
    settings = Settings(data=folder)
    engine = open_records(settings.records_at)
    with engine.begin() as db:
        settle(db, QUILLFOLD, from_ms(to_ms(ANCHOR_AT)))
    engine.dispose()
    assert fill(settings)
    return settings


@pytest.fixture
def written(demo: Settings) -> Iterator[Engine]:
    engine = open_records(demo.records_at)
    yield engine
    engine.dispose()


@pytest.fixture
def db(written: Engine) -> Iterator[Connection]:
    with written.begin() as connection:
        yield connection
