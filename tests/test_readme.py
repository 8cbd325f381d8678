"""README says what there is: every setting, every command, and tests that exist."""

import re
from importlib.metadata import entry_points
from pathlib import Path

import pytest

from collector.cli import SETTINGS, main
from collector.settings import names_of

ROOT = Path(__file__).parent.parent
NAMES = {name for point in entry_points(group=SETTINGS) for name in names_of(point.load())}
README = (ROOT / "README.md").read_text()


@pytest.mark.parametrize("name", sorted(NAMES))
def test_every_setting_has_a_line(name: str) -> None:
    assert f"| `{name}` |" in README


def test_no_setting_is_told_that_does_not_exist() -> None:
    told = set(re.findall(r"^\| `(RINDWATCH_\w+)` \|", README, re.M))
    assert told == NAMES


@pytest.mark.parametrize("name", sorted(name for name, command in main.commands.items() if not command.hidden))
def test_every_command_has_a_line(name: str) -> None:
    assert re.search(rf"^\| `rindwatch .*\b{name}\b", README, re.M), f"rindwatch {name} is not in README"


@pytest.mark.parametrize("path", sorted(set(re.findall(r"`(tests/[\w/]+\.py)`", README))))
def test_every_promise_names_a_test_that_exists(path: str) -> None:
    assert (ROOT / path).exists()


def test_every_link_leads_somewhere() -> None:
    for link in re.findall(r"\]\(([^)#]+)\)", README):
        assert (ROOT / link).exists(), link
