"""Where a passkey works: at an https address of this machine that is a name, as the settings know it."""

from collections.abc import Iterator
from urllib.parse import urlsplit

from starlette.requests import HTTPConnection

from dashboard.addresses import origin
from dashboard.house import House
from dashboard.people.cookie import is_https
from dashboard.people.gate import own_names
from dashboard.people.origin import host_of, is_address
from dashboard.people.passkey_questions import PasskeyPlace


def places(house: House, base_address: str) -> dict[str, PasskeyPlace]:
    """All such addresses, by their origin.

    A browser binds a passkey to the name alone, so a program at another port of this machine could ask for one and
    hand it on here with a made-up Host. That is why names and ports come from the settings, never from a request.
    """
    found: dict[str, PasskeyPlace] = {}
    for address in _addresses(house, base_address):
        host = host_of(address)
        if address.startswith("https://") and host and not is_address(host):
            found[address] = PasskeyPlace(host, address)
    return found


def _addresses(house: House, base_address: str) -> Iterator[str]:
    """Addresses that the settings name, the ones that people chose first."""
    yield from (_plain(address) for address in (base_address, house.own.base_address) if address)
    if house.doors.https:
        port = urlsplit(house.doors.https).port or 443
        chosen = (host_of(base_address), host_of(house.doors.https))
        for name in (*chosen, *sorted(own_names(house.own) | house.doors.names)):
            if name and not is_address(name):
                yield origin("https", name, port)
    if house.own.trusted_proxy:
        yield from (origin("https", name, 443) for name in sorted(house.own.more_hosts))


def _plain(address: str) -> str:
    """An address as browsers write an origin: small letters, without the usual port."""
    parts = urlsplit(address.lower())
    usual = {"http": 80, "https": 443}.get(parts.scheme, 0)
    return f"{parts.scheme}://{parts.netloc.removesuffix(f':{usual}')}"


def place_of(connection: HTTPConnection, house: House, base_address: str) -> PasskeyPlace | None:
    """The place that a request came to, None where passkeys do not work."""
    if not is_https(connection):
        return None
    asked = _plain(f"https://{connection.headers.get('host', '')}")
    return places(house, base_address).get(asked)
