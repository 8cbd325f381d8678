"""Where this machine is found: its own address in the house, its names, the addresses of the pages."""

import ipaddress
import socket

# Nothing is sent there: connecting a datagram socket only asks the system which of our addresses it would use.
# RFC 5737 and RFC 3849 keep these for documentation.
PROBES = ((socket.AF_INET, "192.0.2.1"), (socket.AF_INET6, "2001:db8::1"))
LOOPBACK = "127.0.0.1"


def own_addresses(named: str = "") -> list[str]:
    """The addresses that others in the house reach this machine by, without the ones that only it knows.

    Args:
        named: RINDWATCH_OWN_ADDRESS; where there is one it is taken at its word, since a container cannot know better.
    """
    if named:
        return [named]
    found = []
    for family, towards in PROBES:
        with socket.socket(family, socket.SOCK_DGRAM) as asking:
            try:
                asking.connect((towards, 9))
                address = str(asking.getsockname()[0]).partition("%")[0]
            except OSError:
                continue
        if not ipaddress.ip_address(address).is_loopback and address not in found:
            found.append(address)
    return found


def own_address(named: str = "") -> str:
    """The address to print and to put into QR codes; `named` as above."""
    return next(iter(own_addresses(named)), LOOPBACK)


def machine_name() -> str:
    return socket.gethostname().lower()


def origin(scheme: str, host: str, port: int) -> str:
    """An address of the pages, like http://192.168.7.20:8000; without the port where it is the usual one."""
    name = f"[{host}]" if ":" in host else host
    usual = {"http": 80, "https": 443}[scheme]
    return f"{scheme}://{name}" + ("" if port == usual else f":{port}")


def reachable(listen: str, named: str = "") -> str:
    """A host by which a server that listens at an address is reached; `named` as above."""
    return own_address(named) if listen in {"0.0.0.0", "::", ""} else listen  # noqa: S104
