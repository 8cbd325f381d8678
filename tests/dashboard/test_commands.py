"""The dashboard's commands, each by its own process or runner."""

import re

import pytest
from click.testing import CliRunner

from collector.cli import main
from collector.settings import Settings
from dashboard.https.kept import kept, places


@pytest.fixture
def run(settings: Settings) -> object:
    runner = CliRunner(env={"RINDWATCH_DATA": str(settings.data), "RINDWATCH_LISTEN": "192.168.7.20"})
    return lambda *arguments: runner.invoke(main, list(arguments))


def test_a_reset_prints_a_whole_address(run: object) -> None:
    done = run("person", "reset")  # type: ignore[operator]
    assert done.exit_code == 0
    assert re.search(r"http://192\.168\.7\.20:8000/first/\S{30,}", done.output)


def test_a_reset_of_somebody_unknown_is_told(run: object) -> None:
    done = run("person", "reset", "Nobody")  # type: ignore[operator]
    assert done.exit_code == 1
    assert "nobody here is called Nobody" in done.output


def test_tls_makes_and_shows_the_way(run: object, settings: Settings) -> None:
    done = run("tls", "--name", "Cave.home.arpa")  # type: ignore[operator]
    assert done.exit_code == 0, done.output
    assert "https://cave.home.arpa:8443" in done.output
    assert "http://192.168.7.20:8000/phone/certificate" in done.output
    assert "▄" in done.output
    made = kept(settings)
    assert made is not None
    assert made.names[0] == "cave.home.arpa"
    shown = run("tls", "--show")  # type: ignore[operator]
    assert shown.output == done.output


def test_a_second_tls_keeps_names_and_authority(run: object, settings: Settings) -> None:
    run("tls", "--name", "cave.home.arpa")  # type: ignore[operator]
    authority = places(settings).authority.read_bytes()
    run("tls", "--name", "book.home.arpa")  # type: ignore[operator]
    made = kept(settings)
    assert made is not None
    assert {"cave.home.arpa", "book.home.arpa"} <= set(made.names)
    assert places(settings).authority.read_bytes() == authority


@pytest.mark.parametrize(
    ("arguments", "code", "said"),
    [
        (("tls", "--show"), 1, "there is no certificate yet"),
        (("tls", "--name", "a b"), 1, "a b is no name for a machine"),
        (("tls", "--colour"), 2, "No such option"),
    ],
)
def test_what_cannot_be_done_is_told(run: object, arguments: tuple[str, ...], code: int, said: str) -> None:
    done = run(*arguments)  # type: ignore[operator]
    assert done.exit_code == code
    assert said in done.output
