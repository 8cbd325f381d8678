"""Who has how many places at the embedded broker's door, and who waits there; pure."""

import ipaddress
from collections import Counter
from collections.abc import Hashable
from typing import Generic, TypeVar

OF_ONE_ADDRESS = 100  # our choice: a house's probes may all come through one router that hides their addresses
OF_ALL = 800  # the broker itself takes a thousand; those of this machine's own programs are not counted
WAITING = 200  # our choice: a probe says who it is within a second of coming
OWN_PROGRAMS = ("127.0.0.1", "::1")
Caller = TypeVar("Caller", bound=Hashable)


def plain(host: str) -> str:
    """An address in one spelling: without its zone, and IPv4 as such where it came in through an IPv6 socket."""
    address = ipaddress.ip_address(host.partition("%")[0])
    mapped = address.ipv4_mapped if isinstance(address, ipaddress.IPv6Address) else None
    return str(mapped or address)


class Places:
    """Places of those who were let in, by address.

    Args:
        of_one: places for one address. of_all: for all together, this machine's own programs left out.
    """

    def __init__(self, of_one: int = OF_ONE_ADDRESS, of_all: int = OF_ALL) -> None:
        self._of_one, self._of_all = of_one, of_all
        self._held = Counter[str]()

    def take(self, host: str) -> bool:
        """Whether this address gets one more."""
        if host in OWN_PROGRAMS:
            return True
        if self._held[host] >= self._of_one or self._held.total() >= self._of_all:
            return False
        self._held[host] += 1
        return True

    def give_back(self, host: str) -> None:
        """One place that `take` gave is free again."""
        if host not in OWN_PROGRAMS:
            self._held[host] -= 1
            if not self._held[host]:
                del self._held[host]


class Waiting(Generic[Caller]):
    """Callers who have not said yet who they are; where too many wait, the one that came first has had its time."""

    def __init__(self, most: int = WAITING) -> None:
        self._most, self._callers = most, dict[Caller, None]()

    def join(self, caller: Caller) -> Caller | None:
        """Take one more in; returns who has to go for it, if any."""
        self._callers[caller] = None
        if len(self._callers) <= self._most:
            return None
        longest = next(iter(self._callers))
        del self._callers[longest]
        return longest

    def leave(self, caller: Caller) -> None:
        """It has said who it is, or has gone; harmless when it left before."""
        self._callers.pop(caller, None)
