"""Which requests are ours.

The cases are those in which browsers differ: with and without Sec-Fetch-Site (plain http in the house has none, W3C
Fetch Metadata, section 2.2), with an Origin of another site, of "null" (Fetch standard, 3.2), or with none at all.
"""

import pytest
from starlette.datastructures import Headers

from dashboard.people.origin import host_name, is_loopback, is_own_change, is_own_host

HOST = "cave.home.arpa:8443"
TRUSTED = {"https://cave.example.org"}
OWN, FOREIGN, NEIGHBOUR = "https://cave.home.arpa:8443", "https://evil.example", "https://cave.home.arpa:8444"


@pytest.mark.parametrize(
    ("headers", "ours"),
    [
        ({"origin": OWN, "sec-fetch-site": "same-origin", "cookie": "a=b"}, True),
        ({"sec-fetch-site": "none", "cookie": "a=b"}, True),
        ({"origin": FOREIGN, "sec-fetch-site": "cross-site", "cookie": "a=b"}, False),
        ({"origin": NEIGHBOUR, "sec-fetch-site": "same-site", "cookie": "a=b"}, False),
        ({"origin": OWN, "cookie": "a=b"}, True),
        ({"origin": OWN.upper().replace("HTTPS", "https"), "cookie": "a=b"}, True),
        ({"origin": FOREIGN, "cookie": "a=b"}, False),
        ({"origin": NEIGHBOUR, "cookie": "a=b"}, False),
        ({"origin": "null", "cookie": "a=b"}, False),
        ({"origin": "null"}, False),
        ({"origin": ""}, False),
        ({"origin": "https://[broken", "cookie": "a=b"}, False),
        ({"cookie": "a=b"}, False),
        ({}, True),
        ({"origin": "https://cave.example.org", "sec-fetch-site": "cross-site", "cookie": "a=b"}, True),
    ],
)
@pytest.mark.parametrize("method", ["POST", "PUT", "PATCH", "DELETE"])
def test_a_change_is_ours_or_it_is_not(headers: dict[str, str], ours: bool, method: str) -> None:
    assert is_own_change(method, Headers({"host": HOST, **headers}), TRUSTED) is ours


@pytest.mark.parametrize("origin", ["null", "", "https://[broken", OWN])
def test_without_a_host_no_origin_is_ours(origin: str) -> None:
    assert not is_own_change("POST", Headers({"origin": origin}), TRUSTED)


@pytest.mark.parametrize("method", ["GET", "HEAD", "OPTIONS"])
def test_looking_is_free(method: str) -> None:
    assert is_own_change(method, Headers({"host": HOST, "origin": FOREIGN, "cookie": "a=b"}), ())


@pytest.mark.parametrize(
    "host",
    ["cave.home.arpa", "CAVE.home.arpa:8443", "cave.home.arpa.", "192.168.7.20:8000", "[fd00::2]:8443", "10.0.0.1"],
)
def test_own_names_and_plain_addresses_are_ours(host: str) -> None:
    assert is_own_host(host, {"cave.home.arpa"})


@pytest.mark.parametrize(
    "host",
    ["evil.example", "", "cave.home.arpa.evil.example", "192.168.7.20.evil.example", "[broken", "evil@192.168.7.20x"],
)
def test_a_name_that_points_at_us_is_not_ours(host: str) -> None:
    assert not is_own_host(host, {"cave.home.arpa"})


def test_loopback_is_what_only_this_machine_means() -> None:
    assert all(is_loopback(host_name(h)) for h in ("localhost:8000", "127.0.0.1", "[::1]:8000", "127.5.5.5"))
    assert not any(is_loopback(host_name(h)) for h in ("192.168.7.20", "localhost.evil.example", ""))
