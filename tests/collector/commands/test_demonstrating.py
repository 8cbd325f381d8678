"""A demo that runs keeps its folder: taken from under it, its databases fail in ways that nobody understands."""

from pathlib import Path

import pytest
from click.testing import CliRunner
from filelock import FileLock

from collector.commands.demonstrating import _forget, demo


@pytest.mark.parametrize("words", [["--fresh"], []])
def test_a_folder_that_a_demo_runs_in_is_left_to_it(tmp_path: Path, words: list[str]) -> None:
    (tmp_path / "demo.json").write_text("{}")
    with FileLock(tmp_path / "demo.lock"):
        told = CliRunner().invoke(demo, [*words, "--folder", str(tmp_path)])
    assert told.exit_code == 2
    assert told.output == f"a demo runs in {tmp_path}; end that one first, or name another --folder\n"
    assert (tmp_path / "demo.json").exists()


def test_a_demo_that_has_ended_is_forgotten_as_a_whole(tmp_path: Path) -> None:
    folder = tmp_path / "demo"
    folder.mkdir()
    (folder / "demo.json").write_text("{}")
    (folder / "demo.lock").touch()  # what a killed one leaves
    _forget(folder)
    assert not folder.exists()


def test_a_folder_with_something_else_is_never_forgotten(tmp_path: Path) -> None:
    (tmp_path / "cheese.txt").write_text("mine")
    told = CliRunner().invoke(demo, ["--fresh", "--folder", str(tmp_path)])
    assert told.exit_code == 2
    assert "holds no demo" in told.output
    assert (tmp_path / "cheese.txt").exists()
