"""Commands in a folder that no start has prepared: one sentence, no traceback, and nothing is left behind."""

from pathlib import Path

import pytest
from click.testing import CliRunner
from sqlalchemy import Engine, create_engine, text

from collector.cli import main
from collector.errors import SchemaMissing
from collector.records.engine import open_prepared


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("RINDWATCH_DATA", str(tmp_path / "data"))
    return tmp_path / "data"


@pytest.mark.parametrize(
    "asked",
    [
        ["keep"], ["copy"], ["backup", "x.zip"], ["restore", "--try"], ["lookback", "24-07B"], ["weight", "24-07B"],
        ["replay", "--from", "2026-01-01", "--to", "2026-01-02"],
    ],
    ids=lambda asked: asked[0],
)  # fmt: skip
def test_it_says_that_nothing_is_prepared_and_makes_no_database(asked: list[str], folder: Path) -> None:
    done = CliRunner().invoke(main, asked)
    assert (done.exit_code, done.exception.__class__) == (1, SystemExit)
    assert "is not prepared yet\nStart rindwatch once" in done.output
    assert list(folder.rglob("*.sqlite3")) == []


def test_check_tells_it_line_by_line(folder: Path) -> None:
    done = CliRunner().invoke(main, ["check"])
    assert (done.exit_code, done.exception.__class__) == (1, SystemExit)
    assert f"LOOK  records: {folder / 'records.sqlite3'} is not prepared yet" in done.output
    assert "LOOK  collector: has never run here" in done.output


def test_a_new_password_for_the_probes_can_come_first(folder: Path) -> None:
    done = CliRunner().invoke(main, ["probe", "rotate"])
    assert done.exit_code == 0
    assert (folder / "secrets" / "probe-password").read_text() in done.output


def test_an_empty_database_is_not_taken_for_a_prepared_one(tmp_path: Path) -> None:
    path = tmp_path / "records.sqlite3"
    other: Engine = create_engine(f"sqlite:///{path}")
    with other.begin() as db:
        db.execute(text("CREATE TABLE cheese (id INTEGER)"))
    other.dispose()
    with pytest.raises(SchemaMissing, match=r"records\.sqlite3 is not prepared yet"):
        open_prepared(f"sqlite:///{path}")
