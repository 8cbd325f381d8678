"""Settings are refused with their name and what they must be."""

import pytest

from collector.errors import SettingsWrong
from collector.intake.address import broker_address
from collector.settings import Settings, is_host_and_port, read_settings


@pytest.mark.parametrize(
    ("named", "host", "port"),
    [
        ("192.168.7.5", "192.168.7.5", 1883),
        ("broker.home.arpa:1884", "broker.home.arpa", 1884),
        ("[fd00::2]:1884", "fd00::2", 1884),
    ],
)
def test_a_broker_is_named_by_host_and_port(named: str, host: str, port: int) -> None:
    address = broker_address(Settings(broker=named))
    assert (address.host, address.port) == (host, port)


@pytest.mark.parametrize(
    "named", ["a:b", "a:b:c", "a:99999", "a:0", "a:", ":1883", "mqtt://a", "me@a", "fd00::2", "a/b"]
)
def test_anything_else_is_no_broker(named: str, monkeypatch: pytest.MonkeyPatch) -> None:
    assert not is_host_and_port(named)
    monkeypatch.setenv("RINDWATCH_BROKER", named)
    with pytest.raises(SettingsWrong, match=r"^RINDWATCH_BROKER: must look like .*, got ") as caught:
        read_settings(Settings)
    assert repr(named) in str(caught.value)


@pytest.mark.parametrize("named", ["cave.home.arpa", "192.168.7", "0.0.0.0", "127.0.0.1", "http://192.168.7.20", "::1"])
def test_what_others_cannot_reach_is_no_address_of_this_machine(named: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("RINDWATCH_OWN_ADDRESS", named)
    with pytest.raises(SettingsWrong, match=r"^RINDWATCH_OWN_ADDRESS: must look like 192.168.7.20, got "):
        read_settings(Settings)


@pytest.mark.parametrize("named", ["", "192.168.7.20", "fd00::20"])
def test_an_address_of_this_machine_can_be_named(named: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("RINDWATCH_OWN_ADDRESS", named)
    assert read_settings(Settings).own_address == named
