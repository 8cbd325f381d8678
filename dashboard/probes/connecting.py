"""What a new probe has to be told: where the messages go, as whom, under which topic, in which form; pure but for the
addresses of this machine."""

import ipaddress
from dataclasses import dataclass

from collector.errors import EntryRefused
from collector.intake.address import PROBE_USER, broker_address
from collector.intake.payloads import PackRecord, encode_senml
from collector.intake.payloads.envelope import ROOT
from collector.settings import Settings
from dashboard.addresses import machine_name, own_address, reachable

LONGEST_NAME = 60
PASSWORD = "probe-password"  # noqa: S105 the name of the secret, not the secret
READINGS = "readings"


@dataclass(frozen=True, slots=True)
class Door:
    """Where messages go, as a probe in the house has to write it.

    Args:
        name: this machine's name, where it can stand for the address; "" where it cannot.
        user: "" where the broker is the household's own, with names and passwords of its own.
        only_here: no other machine can reach it.
    """

    host: str
    port: int
    name: str
    user: str
    tls: bool
    own_broker: bool
    only_here: bool


def door(settings: Settings) -> Door:
    """The way in for probes."""
    address = broker_address(settings)
    if settings.broker:
        host = own_address(settings.own_address) if _is_known_here_only(address.host, settings) else address.host
        return Door(host, address.port, "", "", address.tls, own_broker=True, only_here=False)
    host, only_here = reachable(settings.listen, settings.own_address), is_loopback(settings.listen)
    name = "" if only_here else f"{machine_name().partition('.')[0]}.local"
    return Door(host, address.port, name, PROBE_USER, tls=False, own_broker=False, only_here=only_here)


def _is_known_here_only(host: str, settings: Settings) -> bool:
    """Whether a probe could not use our own broker's name: loopback, or one container's name for another."""
    return is_loopback(host) or (bool(settings.own_address) and "." not in host and ":" not in host)


def is_loopback(host: str) -> bool:
    """Whether only this machine is meant."""
    try:
        return host == "localhost" or ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return False


def probe_name_typed(text: str) -> str:
    """The name of a new probe, which becomes a level of its topic.

    Raises:
        EntryRefused: what no level may hold, blank, or too long.
    """
    name = text.strip()
    if not name:
        raise EntryRefused("name", "Give the probe a name, like cellar-front.")
    if len(name) > LONGEST_NAME:
        raise EntryRefused("name", f"A name may have at most {LONGEST_NAME} characters; this has {len(name)}.")
    if not name.isprintable() or set(name) & set("/+#"):
        raise EntryRefused("name", f"A name must not have / + or # in it, got {name}.")
    return name


def topic_of(name: str) -> str:
    return f"{ROOT}/{name}/{READINGS}"


def sample(name: str) -> str:
    """A message as a probe may send it, without a time: it counts as taken when it comes."""
    records = [PackRecord("temperature", 11.5, "Cel"), PackRecord("humidity", 88.0, "%RH")]
    return encode_senml(records, base_name=f"{name}/").decode()
