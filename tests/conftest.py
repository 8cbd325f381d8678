"""What every test may use: the choice of browser tests."""

import os
from pathlib import Path

import pytest
from hypothesis import settings

# A crowded machine is no fault of the code: no test asserts a time.
settings.register_profile("ours", deadline=None)
settings.load_profile("ours")

CHROMIUM = Path("/usr/bin/chromium")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--browser", action="store_true", default=False, help="also run the tests that drive a browser")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if config.getoption("--browser"):
        return
    skip = pytest.mark.skip(reason="drives a real browser; runs with --browser")
    for item in items:
        if item.get_closest_marker("browser"):
            item.add_marker(skip)


@pytest.fixture(scope="session")
def chromium() -> Path:
    """The browser's program; a machine without one skips, but the continuous build must have it."""
    if not CHROMIUM.exists():
        assert os.environ.get("CI") != "true", f"no browser at {CHROMIUM}: apt-get install chromium"
        pytest.skip(f"no browser at {CHROMIUM}")
    return CHROMIUM
