"""What `rindwatch check` says of the follower."""

from pathlib import Path

import pytest
from click.testing import CliRunner

from collector.checkup import follower
from collector.cli import main
from collector.clock import SystemClock
from collector.errors import FollowerShut
from collector.readings.follower.look import progress_words, set_up
from collector.readings.follower.settings import read_follower_settings
from collector.records.engine import open_records
from collector.records.life import sign
from collector.settings import Settings
from tests.influx_stand_in import ORG, TOKEN, InfluxStandIn

FOLLOWS = {"state": "following", "lag": 3, "owed_ms": 0, "set_aside": 0}


@pytest.fixture
def settings(tmp_path: Path, records_path: Path, stand_in: InfluxStandIn, monkeypatch: pytest.MonkeyPatch) -> Settings:
    """A prepared house whose settings name the stand-in."""
    (tmp_path / "token").write_text(TOKEN)
    for name, value in (
        ("URL", stand_in.url), ("ORG", ORG), ("BUCKET", "caves"), ("TOKEN_FILE", str(tmp_path / "token"))
    ):  # fmt: skip
        monkeypatch.setenv(f"RINDWATCH_INFLUX_{name}", value)
    monkeypatch.setenv("RINDWATCH_DATA", str(tmp_path))
    return Settings(data=tmp_path)


def leave_a_sign(settings: Settings, facts: dict[str, object]) -> None:
    engine = open_records(settings.records_at)
    sign(engine, "follower", SystemClock().now(), facts)
    engine.dispose()


def test_without_one_nothing_is_wrong(tmp_path: Path) -> None:
    answer = follower(Settings(data=tmp_path))
    assert (answer.well, answer.says) == (True, "none; readings are kept here alone")


def test_it_follows(settings: Settings) -> None:
    leave_a_sign(settings, FOLLOWS)
    answer = follower(settings)
    assert answer.well
    assert answer.says.endswith("everything is copied")


def test_a_collector_without_these_settings_is_told(settings: Settings) -> None:
    assert follower(settings).says.endswith("it must run with these settings")


@pytest.mark.parametrize(
    ("facts", "well", "words"),
    [
        ({"lag": 900}, True, "900 changes are still to be copied"),
        ({"owed_ms": 7_200_000}, True, "2 hours of readings, all channels together, are still to be copied"),
        ({"state": "shut", "since": "noon", "reason": "does not answer"}, False, "since noon it does not answer"),
        ({"set_aside": 4, "set_aside_reason": "too old"}, False, "4 points were refused for good and set aside: too"),
    ],
)  # fmt: skip
def test_how_far_it_is_and_what_holds_it(facts: dict[str, object], well: bool, words: str) -> None:
    found = progress_words(FOLLOWS | facts)
    assert found[0] is well
    assert words in found[1]


def test_the_command_makes_the_bucket(
    settings: Settings, stand_in: InfluxStandIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    stand_in.buckets.clear()
    monkeypatch.setenv("RINDWATCH_INFLUX_KEEP_DAYS", "400")
    leave_a_sign(settings, FOLLOWS)
    assert "has no bucket caves" in CliRunner().invoke(main, ["check"]).output
    done = CliRunner().invoke(main, ["check", "--setup"])
    assert "done   follower: the bucket caves keeps 400 days" in done.output
    assert "well  follower" in done.output
    assert stand_in.buckets["caves"].keep_s == 400 * 86_400


@pytest.mark.parametrize("is_404", [True, False])
def test_a_missing_bucket_is_told_however_the_server_says_it(
    settings: Settings, stand_in: InfluxStandIn, is_404: bool
) -> None:
    stand_in.buckets.clear()
    stand_in.missing_is_404 = is_404
    assert "has no bucket caves" in follower(settings).says
    assert set_up(read_follower_settings()) == "the bucket caves keeps for ever"


def test_a_missing_organisation_is_no_missing_bucket(settings: Settings, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("RINDWATCH_INFLUX_ORG", "elsewhere")
    with pytest.raises(FollowerShut, match='organization name "elsewhere" not found'):
        follower(settings)


def test_a_server_that_is_away_is_told_and_the_others_looked_at(
    settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("RINDWATCH_INFLUX_URL", "http://127.0.0.1:9")
    output = CliRunner().invoke(main, ["check"]).output
    assert "LOOK  follower: the database at http://127.0.0.1:9 does not answer" in output
    assert TOKEN not in output


def test_setting_up_nothing_is_a_misuse(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("RINDWATCH_DATA", str(tmp_path))
    assert CliRunner().invoke(main, ["check", "--setup"]).exit_code == 2


def test_alive_asks_the_collector_alone(settings: Settings) -> None:
    done = CliRunner().invoke(main, ["check", "--alive"])
    assert (done.exit_code, done.output.split(":")[0]) == (1, "LOOK  collector")
    engine = open_records(settings.records_at)
    sign(engine, "collector", SystemClock().now(), {"broker": "connected"})
    engine.dispose()
    assert CliRunner().invoke(main, ["check", "--alive"]).exit_code == 0
