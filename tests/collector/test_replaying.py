"""`rindwatch replay`: the past judged again, and the past as it was lived."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from collector.cli import main
from tests.collector.cave import Cave
from tests.collector.test_watch import DRY_SPELL, the_air


@pytest.fixture
def ask(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[object]:
    monkeypatch.setenv("RINDWATCH_DATA", str(tmp_path))
    cave = Cave(tmp_path)
    cave.take(the_air([*DRY_SPELL, *[87.0] * 60]))

    def run(*options: str) -> Result:
        return CliRunner().invoke(main, ["replay", "--from", "2026-03-02", "--to", "2026-03-04", *options])

    yield run
    cave.close()


def test_a_span_is_judged_again_as_it_was(ask) -> None:  # type: ignore[no-untyped-def]
    said = ask()
    assert said.exit_code == 0
    assert said.output.count("Cellar: too dry") == 1


def test_another_target_would_have_raised_something_else(ask) -> None:  # type: ignore[no-untyped-def]
    assert ask("--humidity", "60", "95").output == "nothing\n"
    assert "Cellar: too warm" in ask("--temperature", "2", "6").output


def test_what_was_lived_is_the_log(ask) -> None:  # type: ignore[no-untyped-def]
    said = ask("--as-lived").output
    assert "Cellar: too dry; found late, 2026-03-05" in said


@pytest.mark.parametrize(
    ("options", "reason"),
    [
        (["--place", "nowhere"], "no place is called nowhere; there are Cellar"),
        (["--humidity", "90", "80"], "--humidity needs the low end first, got 90 80"),
        (["--humidity", "90", "180"], "180"),
        (["--from", "2026-03-09"], "--from must be before --to, got 2026-03-09 00:00"),
        (["--as-lived", "--grace", "5"], "cannot be had with other targets"),
    ],
)
def test_a_wrong_question_is_told_what_is_wrong(ask, options: list[str], reason: str) -> None:  # type: ignore[no-untyped-def]
    said = ask(*options)
    assert said.exit_code == 2
    assert reason in said.output
