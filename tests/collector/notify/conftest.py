"""A house with an outbox for tests about messages."""

import importlib
import warnings
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import event

from collector.records.engine import open_records
from tests.collector.notify.builders import House

# Apprise's e-mail part loads a module that Python 3.13 leaves out, with a warning; it is loaded here without.
with warnings.catch_warnings():
    warnings.simplefilter("ignore", DeprecationWarning)
    importlib.import_module("apprise.plugins.email")


@pytest.fixture
def house(records_path: Path) -> Iterator[House]:
    engine = open_records(f"sqlite:///{records_path}")
    event.listen(engine, "connect", lambda db, _record: db.execute("PRAGMA synchronous=OFF"))  # only to be quicker
    yield House(engine)
    engine.dispose()
