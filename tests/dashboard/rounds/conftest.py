"""A cellar in the records of a dashboard under test."""

import pytest
from sqlalchemy import Engine

from tests.browser.rounds.cellar import Cellar, a_cellar
from tests.dashboard.conftest import NOW_AT


@pytest.fixture
def cellar(engine: Engine) -> Cellar:
    """Two shelves with three and two wheels; all were turned ten days ago, so all are late."""
    return a_cellar(engine, (3, 2), NOW_AT)
