"""Where this machine is found."""

import ipaddress

import pytest

from dashboard.addresses import origin, own_address, own_addresses, reachable


@pytest.mark.parametrize(
    ("scheme", "host", "port", "expected"),
    [
        ("http", "192.168.7.20", 8000, "http://192.168.7.20:8000"),
        ("http", "cellar", 80, "http://cellar"),
        ("https", "cellar", 443, "https://cellar"),
        ("https", "fd00::2", 8443, "https://[fd00::2]:8443"),
    ],
)
def test_an_address_of_the_pages(scheme: str, host: str, port: int, expected: str) -> None:
    assert origin(scheme, host, port) == expected


def test_own_addresses_are_addresses_of_others_eyes() -> None:
    assert not any(ipaddress.ip_address(address).is_loopback for address in own_addresses())
    assert ipaddress.ip_address(own_address())


def test_a_server_that_listens_everywhere_is_reached_by_its_address() -> None:
    assert reachable("0.0.0.0") == own_address()
    assert reachable("192.168.7.20") == "192.168.7.20"


def test_an_address_that_is_named_is_taken_at_its_word() -> None:
    assert own_addresses("192.168.7.20") == ["192.168.7.20"]
    assert reachable("0.0.0.0", "192.168.7.20") == "192.168.7.20"
    assert reachable("127.0.0.1", "192.168.7.20") == "127.0.0.1"
