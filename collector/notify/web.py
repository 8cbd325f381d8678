"""One web request as channels make it: no redirects, no proxies or passwords from the environment, always an end.

Imports a heavy library; loaded only in the short-lived sender.
"""

import ipaddress
import socket
from collections.abc import Mapping
from email.utils import parsedate_to_datetime
from typing import Any
from urllib.parse import urlsplit

import requests
from requests.adapters import HTTPAdapter
from urllib3 import HTTPConnectionPool, HTTPSConnectionPool, PoolManager
from urllib3.connection import HTTPConnection, HTTPSConnection

from collector.errors import WarningNotSent

TIMEOUT_S = 10.0  # to connect, and between two bytes; the sender's own deadline ends what drips
LONGEST_PAUSE_S = 6 * 3_600.0
NAT64 = ipaddress.ip_network("64:ff9b::/96")


class PrivateAddress(OSError):
    """A host in the house, or this machine, where only the open internet is allowed."""


def is_global(address: str) -> bool:
    """Whether an address lies in the open internet; addresses that carry another inside count as that one."""
    ip = ipaddress.ip_address(address)
    if isinstance(ip, ipaddress.IPv6Address):
        if ip in NAT64:
            return is_global(str(ipaddress.IPv4Address(int(ip) & 0xFFFFFFFF)))
        inside = ip.ipv4_mapped or ip.sixtofour
        if inside is not None:
            return is_global(str(inside))
    return ip.is_global and not ip.is_multicast and not ip.is_reserved


def global_address(host: str, port: int) -> str:
    """The address of a host to connect to; the very one that was looked at, so that no second look-up can differ.

    Raises:
        PrivateAddress: any address of the host is not in the open internet.
    """
    found = [str(info[4][0]) for info in socket.getaddrinfo(host.strip("[]"), port, type=socket.SOCK_STREAM)]
    if not found or not all(is_global(address.partition("%")[0]) for address in found):
        raise PrivateAddress(f"{host} is not in the open internet")
    return found[0]


class _GlobalConnection(HTTPConnection):
    def _new_conn(self) -> socket.socket:
        name = self.host
        self.host = global_address(name, self.port)
        try:
            return super()._new_conn()
        finally:
            self.host = name  # the certificate is checked against the name


class _GlobalTlsConnection(_GlobalConnection, HTTPSConnection):
    pass


class _GlobalPool(HTTPConnectionPool):
    ConnectionCls = _GlobalConnection


class _GlobalTlsPool(HTTPSConnectionPool):
    ConnectionCls = _GlobalTlsConnection


class _GlobalAdapter(HTTPAdapter):
    def init_poolmanager(self, *args: Any, **kwargs: Any) -> None:
        super().init_poolmanager(*args, **kwargs)
        manager: PoolManager = self.poolmanager
        manager.pool_classes_by_scheme = {"http": _GlobalPool, "https": _GlobalTlsPool}


class Web(requests.Session):
    """A session that follows no redirect and reads nothing from the environment.

    Args:
        only_global: refuse hosts in the house. ca: file of a certificate authority to trust instead of the usual.
    """

    def __init__(self, *, only_global: bool = False, ca: str | None = None) -> None:
        super().__init__()
        self.trust_env = False
        if ca is not None:
            self.verify = ca
        if only_global:
            for scheme in ("http://", "https://"):
                self.mount(scheme, _GlobalAdapter())

    def request(self, *args: Any, **kwargs: Any) -> requests.Response:
        kwargs["allow_redirects"] = False
        kwargs["timeout"] = kwargs.get("timeout") or TIMEOUT_S
        return super().request(*args, **kwargs)


def ask(channel: str, session: Web, method: str, url: str, **kwargs: Any) -> requests.Response:
    """One request; trouble on the way comes back in our words, with nothing of the address but its host.

    Raises:
        WarningNotSent: no answer.
    """
    try:
        return session.request(method, url, stream=True, **kwargs)
    except (requests.RequestException, OSError, ValueError) as error:
        raise WarningNotSent(channel, why(error, url)) from None


def why(error: Exception, url: str) -> str:
    """What went wrong on the way to an address, without its secrets."""
    host = urlsplit(url).hostname or "the address"
    if _caused_by(error, PrivateAddress):
        return f"{host} is in the house, where this may not go"
    if isinstance(error, requests.exceptions.SSLError):
        return f"the certificate of {host} is not trusted"
    if isinstance(error, requests.exceptions.Timeout):
        return f"{host} did not answer within {TIMEOUT_S:.0f} s"
    return f"no connection to {host}"


def _caused_by(error: BaseException | None, kind: type[BaseException]) -> bool:
    seen: list[BaseException] = []
    while error is not None and error not in seen:
        if isinstance(error, kind) or any(isinstance(arg, kind) for arg in error.args):
            return True
        seen.append(error)
        inner = next((arg for arg in error.args if isinstance(arg, BaseException)), None)
        error = error.__cause__ or error.__context__ or inner
    return False


def refuse_trouble(channel: str, response: requests.Response, url: str) -> None:
    """Let a good answer pass.

    Raises:
        WarningNotSent: any other.
    """
    host, status = urlsplit(url).hostname or "the address", response.status_code
    if 200 <= status < 300:
        return
    if 300 <= status < 400:
        raise WarningNotSent(channel, f"{host} answers with a redirect; give the address that it leads to")
    raise WarningNotSent(channel, f"{host} answered {status}", wait_s=pause_s(response.headers))


def pause_s(headers: Mapping[str, str], now_s: float | None = None) -> float | None:
    """The pause that an answer asks for (RFC 9110, section 10.2.3: seconds or a date), at most six hours."""
    asked = headers.get("Retry-After", "").strip()
    if asked.isdigit():
        return min(float(asked), LONGEST_PAUSE_S)
    try:
        at = parsedate_to_datetime(asked)
    except ValueError:
        return None
    from time import time

    seconds = at.timestamp() - (time() if now_s is None else now_s)
    return min(max(0.0, seconds), LONGEST_PAUSE_S)
