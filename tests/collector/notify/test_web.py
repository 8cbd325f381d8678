"""One request: no redirect, no proxy, no house where only the open internet is allowed, always an end."""

import socket
from typing import Any

import pytest

from collector.errors import WarningNotSent
from collector.notify import web
from collector.notify.web import Web, ask, is_global, pause_s, refuse_trouble
from tests.collector.notify.servers import unused_port, web_server


@pytest.mark.parametrize(
    ("address", "open_internet"),
    [
        # IANA special-purpose address registries (RFC 6890 and its updates).
        ("10.0.0.1", False), ("172.16.0.1", False), ("192.168.1.10", False), ("127.0.0.1", False),
        ("169.254.169.254", False), ("100.64.0.1", False), ("0.0.0.0", False), ("255.255.255.255", False),
        ("224.0.0.251", False), ("::1", False), ("fe80::1", False), ("fd00::1", False), ("ff02::fb", False),
        ("::ffff:192.168.1.10", False), ("2002:c0a8:010a::1", False), ("64:ff9b::c0a8:10a", False),
        ("9.9.9.9", True), ("2620:fe::fe", True), ("::ffff:9.9.9.9", True), ("64:ff9b::909:909", True),
    ],
)  # fmt: skip
def test_the_open_internet_is_told_from_the_house(address: str, open_internet: bool) -> None:
    assert is_global(address) is open_internet


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost", "[::1]", "[::ffff:127.0.0.1]"])
def test_the_house_is_not_spoken_to_where_it_may_not_be(host: str) -> None:
    with web_server() as inside, Web(only_global=True) as session:
        with pytest.raises(WarningNotSent, match="is in the house, where this may not go"):
            ask("x", session, "GET", f"http://{host}:{inside.port}/")
        assert inside.requests == []


def test_a_name_with_one_address_in_the_house_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    found: list[Any] = [(2, 1, 6, "", ("9.9.9.9", 443)), (2, 1, 6, "", ("192.168.1.10", 443))]
    monkeypatch.setattr(socket, "getaddrinfo", lambda *_args, **_kwargs: found)
    with pytest.raises(web.PrivateAddress, match=r"push\.example\.org is not in the open internet"):
        web.global_address("push.example.org", 443)


def test_the_address_that_was_looked_at_is_the_one_that_is_connected_to(monkeypatch: pytest.MonkeyPatch) -> None:
    """A name server that answers differently the second time must not lead us into the house."""
    looked_up: list[str] = []

    def answers(host: str, *_args: Any, **_kwargs: Any) -> list[Any]:
        looked_up.append(host)
        return [(2, 1, 6, "", ("192.0.2.1" if len(looked_up) > 1 else "9.9.9.9", 443))]

    connected: list[tuple[str, int]] = []

    def create_connection(address: tuple[str, int], *_args: Any, **_kwargs: Any) -> None:
        connected.append(address)
        raise OSError("no network in tests")

    monkeypatch.setattr(socket, "getaddrinfo", answers)
    monkeypatch.setattr("urllib3.util.connection.create_connection", create_connection)
    with Web(only_global=True) as session, pytest.raises(WarningNotSent):
        ask("x", session, "GET", "https://push.example.org/x")
    assert connected == [("9.9.9.9", 443)]
    assert looked_up == ["push.example.org"]


def test_proxies_and_passwords_of_the_environment_are_left_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HTTP_PROXY", f"http://127.0.0.1:{unused_port()}")
    with web_server() as server, Web() as session:
        assert ask("x", session, "GET", f"http://127.0.0.1:{server.port}/").status_code == 200


def test_a_redirect_is_told_and_not_followed() -> None:
    with web_server() as server, web_server() as inside, Web() as session:
        server.status, server.headers = 302, {"Location": f"http://127.0.0.1:{inside.port}/"}
        url = f"http://127.0.0.1:{server.port}/"
        response = ask("x", session, "GET", url)
        with pytest.raises(WarningNotSent, match="answers with a redirect; give the address that it leads to"):
            refuse_trouble("x", response, url)
        assert inside.requests == []


@pytest.mark.parametrize(
    ("asked", "pause"),
    [
        # RFC 9110 section 10.2.3: seconds, or a date.
        ("120", 120.0),
        ("Thu, 12 Mar 2026 12:02:00 GMT", 120.0),
        ("Thu, 12 Mar 2026 11:00:00 GMT", 0.0),
        ("999999", 21_600.0),
        ("soon", None),
        ("", None),
        ("-5", None),
    ],
)
def test_the_pause_that_was_asked_for(asked: str, pause: float | None) -> None:
    assert pause_s({"Retry-After": asked}, now_s=1_773_316_800.0) == pause
