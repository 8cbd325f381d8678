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
