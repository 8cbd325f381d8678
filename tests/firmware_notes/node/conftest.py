"""A folder of flash for each test, as a plain path: the same tests run under MicroPython."""

from pathlib import Path

import pytest


@pytest.fixture
def folder(tmp_path: Path) -> str:
    return str(tmp_path)
