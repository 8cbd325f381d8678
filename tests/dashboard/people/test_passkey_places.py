"""Passkeys are offered at https names that the settings know, at no address and no port that a request makes up."""

from types import SimpleNamespace
from typing import cast

import pytest
from starlette.requests import HTTPConnection

from dashboard.house import Doors, House
from dashboard.people import passkey_places
from dashboard.people.passkey_places import place_of, places
from dashboard.settings import DashboardSettings


@pytest.fixture(autouse=True)
def _machine(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        passkey_places, "own_names", lambda own: {"localhost", "cellar", "cellar.local", *own.more_hosts}
    )


def house(doors: str = "", names: tuple[str, ...] = (), **own: str) -> House:
    found = SimpleNamespace(own=DashboardSettings(**own), doors=Doors(https=doors, names=frozenset(names)))  # type: ignore[arg-type]
    return cast(House, found)


def asked(host: str, scheme: str = "https") -> HTTPConnection:
    headers = [(b"host", host.encode())]
    return HTTPConnection({"type": "http", "scheme": scheme, "path": "/", "query_string": b"", "headers": headers})


HOME = "https://cave.home.arpa:8443"


@pytest.mark.parametrize(
    ("host", "found"),
    [
        ("cave.home.arpa:8443", "cave.home.arpa"), ("CAVE.home.arpa:8443", "cave.home.arpa"),
        ("cellar.local:8443", "cellar.local"), ("localhost:8443", "localhost"),
        ("cave.home.arpa", None), ("cave.home.arpa:9443", None), ("cave.home.arpa.:8443", None),
        ("evil.example:8443", None),
        ("192.168.7.20:8443", None), ("[fd00::1]:8443", None), ("", None), ("[::1", None),
        ("a:b@cave.home.arpa:8443", None),
    ],
)  # fmt: skip
def test_only_a_known_name_and_port_will_do(host: str, found: str | None) -> None:
    place = place_of(asked(host), house("https://192.168.7.20:8443"), HOME)
    assert (place.host if place else None) == found


def test_every_name_of_the_certificate_will_do() -> None:
    known = house("https://192.168.7.20:8443", names=("book.home.arpa",))
    place = place_of(asked("book.home.arpa:8443"), known, HOME)
    assert place is not None
    assert place.host == "book.home.arpa"


def test_plain_http_never_will() -> None:
    assert place_of(asked("cave.home.arpa:8443", "http"), house(HOME), HOME) is None
    assert place_of(asked("cave.home.arpa", "http"), house(base_address="http://cave.home.arpa"), "") is None
    assert places(house(base_address="http://cave.home.arpa"), "") == {}


def test_the_usual_port_is_not_spoken() -> None:
    found = place_of(asked("cave.home.arpa"), house(base_address="https://cave.home.arpa:443"), "")
    assert found is not None
    assert found.origin == "https://cave.home.arpa"  # as browsers write an origin: WHATWG HTML, 7.1.1


def test_behind_a_named_proxy_its_names_will_do_at_the_usual_port() -> None:
    names = {"trusted_hosts": "cheese.example.net", "trusted_proxy": "127.0.0.1"}
    assert place_of(asked("cheese.example.net"), house(**names), "") is not None
    assert place_of(asked("cheese.example.net"), house(trusted_hosts="cheese.example.net"), "") is None


def test_an_address_chosen_by_the_household_comes_first() -> None:
    assert next(iter(places(house("https://cellar:8443"), HOME))) == HOME
    assert next(iter(places(house("https://cave.home.arpa:8443"), ""))) == HOME
