"""The command line refuses a wrong setting of any part before it does anything."""

import pytest
from click.testing import CliRunner

from collector.cli import main


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("RINDWATCH_MQTT_PORT", "abc"),
        ("RINDWATCH_BROKER", "a:b:c"),
        ("RINDWATCH_HTTP_PORT", "70000"),
        ("RINDWATCH_SIGN_IN", "no"),
        ("RINDWATCH_BASE_ADDRESS", "cave"),
        ("RINDWATCH_INFLUX_KEEP_DAYS", "-1"),
    ],
)
@pytest.mark.parametrize("command", ["serve", "check", "demo"])
def test_a_wrong_setting_of_any_part_stops_the_start(
    command: str, name: str, value: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(name, value)
    done = CliRunner().invoke(main, [command])
    assert (done.exit_code, done.exception.__class__) == (1, SystemExit)
    assert done.output.startswith(f"{name}: ")
    assert f"got '{value}'\nMend the setting" in done.output
