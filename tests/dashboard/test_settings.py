"""Settings are read once and refused with their name."""

import pytest
from pydantic import ValidationError

from collector.errors import SettingsWrong
from collector.settings import read_settings
from dashboard.settings import DashboardSettings, is_origin


@pytest.mark.parametrize("address", ["https://cave.home.arpa:8443", "http://192.168.7.20", "https://[fd00::2]:8443"])
def test_an_origin_is_an_origin(address: str) -> None:
    assert is_origin(address)
    assert DashboardSettings(base_address=address + "/").base_address == address


@pytest.mark.parametrize(
    "address",
    ["cave.home.arpa", "ftp://cave", "https://cave/book", "https://me@cave", "https://cave:99999", "https://"],
)
def test_anything_else_is_refused(address: str) -> None:
    assert not is_origin(address)
    with pytest.raises(ValidationError, match="must look like https"):
        DashboardSettings(base_address=address)


def test_a_wrong_setting_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("RINDWATCH_HTTP_PORT", "70000")
    with pytest.raises(SettingsWrong, match=r"RINDWATCH_HTTP_PORT: .* got '70000'"):
        read_settings(DashboardSettings)


def test_further_hosts_are_told_apart_by_commas() -> None:
    assert DashboardSettings(trusted_hosts="Cave.lan, ,nas").more_hosts == {"cave.lan", "nas"}
