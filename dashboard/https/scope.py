"""What the house's own authority may speak for, and what its certificate names. Pure."""

import ipaddress
from collections.abc import Iterable
from dataclasses import dataclass

HOME = "home.arpa"  # RFC 8375: the domain of names inside a home
# As wide as a router usually deals out new addresses from: 65,536 in IPv4, one network in IPv6. Our choice.
WIDTH = {4: 16, 6: 64}
# RFC 1918 and RFC 4193.
PRIVATE = tuple(ipaddress.ip_network(n) for n in ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "fc00::/7"))


@dataclass(frozen=True, slots=True)
class Scope:
    """Domains (a name and all below it) and networks, as text."""

    domains: tuple[str, ...]
    networks: tuple[str, ...]

    def covers_name(self, name: str) -> bool:
        return any(name == domain or name.endswith("." + domain) for domain in self.domains)

    def covers_address(self, address: str) -> bool:
        parsed = ipaddress.ip_address(address)
        return any(parsed in ipaddress.ip_network(network) for network in self.networks)

    def lacks(self, names: Iterable[str], addresses: Iterable[str]) -> list[str]:
        """The names and addresses that the authority may not speak for."""
        return [n for n in names if not self.covers_name(n)] + [a for a in addresses if not self.covers_address(a)]


def scope_of(names: Iterable[str], addresses: Iterable[str]) -> Scope:
    """Room for this machine's names, names in a home, and the networks that its private addresses come from."""
    domains = sorted({HOME, *names})
    networks = sorted({_network(address) for address in addresses if is_of_the_house(address)})
    return Scope(tuple(domains), tuple(networks))


def is_of_the_house(address: str) -> bool:
    """True for an address that houses give out among themselves."""
    parsed = ipaddress.ip_address(address)
    return any(parsed in network for network in PRIVATE)


def _network(address: str) -> str:
    parsed = ipaddress.ip_address(address)
    return str(ipaddress.ip_network(f"{address}/{WIDTH[parsed.version]}", strict=False))


def is_host_name(name: str) -> bool:
    """True for a name that may stand in a certificate: labels of letters, digits and hyphens (RFC 1123, 2.1)."""
    labels = name.split(".")
    return len(name) <= 253 and all(_is_label(label) for label in labels) and not labels[-1].isdigit()


def _is_label(label: str) -> bool:
    plain = label.isascii() and label.replace("-", "a").isalnum()
    return 0 < len(label) <= 63 and plain and not label.startswith("-") and not label.endswith("-")
