"""Refuses changes that another site makes a signed-in browser send, and names that this machine does not have."""

import ipaddress
from collections.abc import Collection
from urllib.parse import urlsplit

from starlette.datastructures import Headers

HARMLESS = frozenset({"GET", "HEAD", "OPTIONS"})


def is_own_change(method: str, headers: Headers, trusted: Collection[str]) -> bool:
    """True when a request changes nothing, or comes from a page of ours, or from a program that has no cookies.

    Browsers send no Sec-Fetch-Site to plain-http addresses in the house; there the Origin decides.

    Args:
        trusted: origins that are ours under another name, like a proxy's.
    """
    if method in HARMLESS:
        return True
    origin = headers.get("origin")
    if origin is not None and origin in trusted:
        return True
    site = headers.get("sec-fetch-site")
    if site is not None:
        return site in {"same-origin", "none"}
    if origin is not None:
        # An Origin of "null" has no host, and neither has a request without one: nothing is not equal to nothing.
        own = headers.get("host", "").lower()
        return own != "" and _host_and_port(origin) == own
    return "cookie" not in headers


def _host_and_port(origin: str) -> str:
    try:
        return urlsplit(origin).netloc.lower()
    except ValueError:
        return ""


def host_name(host_header: str) -> str:
    """The name in a Host header, without the port, in small letters; "" when it cannot be read."""
    try:
        return (urlsplit(f"//{host_header}").hostname or "").rstrip(".")
    except ValueError:
        return ""


def host_of(address: str) -> str:
    """The name in an address like https://cave.home.arpa:8443; "" of no address."""
    return host_name(address.partition("://")[2])


def is_own_host(host_header: str, names: Collection[str]) -> bool:
    """True for a name of this machine, and for any plain address.

    A page elsewhere can point its own *name* at an address in the house and then talk to us as if it were ours; it
    cannot do that with an address, so addresses need no list, and a new one from the router locks nobody out.
    """
    name = host_name(host_header)
    return name in names or is_address(name)


def is_address(name: str) -> bool:
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True


def is_loopback(name: str) -> bool:
    """True for a name or address that only this machine itself can mean."""
    return name == "localhost" or (is_address(name) and ipaddress.ip_address(name).is_loopback)
