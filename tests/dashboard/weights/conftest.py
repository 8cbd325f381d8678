"""A cave with wheels that are old enough to be foretold."""

import shutil
from pathlib import Path

import pytest
from sqlalchemy import Engine

from collector.settings import Settings
from tests.dashboard.weights.aged import Aged, aged, measure


@pytest.fixture(scope="session")
def two_months(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Readings of a fridge and a damp box, made once to be copied."""
    own = Settings(data=tmp_path_factory.mktemp("readings"))
    measure(own, "dry-1", 84.0)
    measure(own, "damp-1", 93.0, days=31)
    return own.readings_path


@pytest.fixture
def wheels_aged(settings: Settings, engine: Engine, two_months: Path) -> Aged:
    shutil.copy(two_months, settings.readings_path)
    with engine.begin() as db:
        return aged(db)
