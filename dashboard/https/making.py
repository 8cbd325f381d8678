"""Makes the authority once and the certificate whenever it is due, and puts both in place."""

import os
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from collector.errors import CaveError
from collector.settings import Settings, write_secret
from dashboard.addresses import machine_name
from dashboard.https import kept
from dashboard.https.authority import Pair, ends_at, make_authority, make_leaf
from dashboard.https.names import default_names
from dashboard.https.scope import Scope, is_host_name, is_of_the_house, scope_of


class NameNotAllowed(CaveError):
    """A name or address that the authority on the phones may not speak for."""

    hint = "Run rindwatch tls --new-authority, then install the new certificate on each phone again."

    def __init__(self, lacking: Sequence[str]) -> None:
        super().__init__(f"the authority that the phones know may not speak for {', '.join(lacking)}")
        self.lacking = tuple(lacking)


class NameNotUsable(CaveError):
    """Something that cannot stand in a certificate."""

    hint = "Take a name like cave.home.arpa, without a port or a path."

    def __init__(self, name: str) -> None:
        super().__init__(f"{name} is no name for a machine")
        self.name = name


def make(
    settings: Settings, names: Sequence[str], addresses: Sequence[str], now_at: datetime, new_authority: bool = False
) -> kept.Kept:
    """Make a certificate for names and addresses, and the authority too when there is none or a new one is wanted.

    Raises:
        NameNotUsable: something else than a name.
        NameNotAllowed: the authority there is may not speak for one of them.
    """
    for name in names:
        if not is_host_name(name):
            raise NameNotUsable(name)
    in_house = [address for address in addresses if is_of_the_house(address)]
    known = None if new_authority else kept.kept(settings)
    places = kept.places(settings)
    places.folder.mkdir(parents=True, exist_ok=True)
    scope = known.scope if known else _new_authority(places, names, in_house, now_at)
    if lacking := scope.lacks(names, in_house):
        raise NameNotAllowed(lacking)
    return _new_leaf(places, scope, names, in_house, now_at)


def best_host(names: Sequence[str], addresses: Sequence[str]) -> str:
    """What to call this machine: a name that somebody chose for it, else its address, which needs no router's help."""
    machine = set(default_names("", machine_name()))
    chosen = [name for name in names if name not in machine]
    return next(iter((*chosen, *addresses, *names)))


def renew(settings: Settings, addresses: Sequence[str], now_at: datetime) -> kept.Kept | None:
    """The same certificate again, with the addresses of today; None when there is none to renew."""
    known = kept.kept(settings)
    if known is None:
        return None
    allowed = [a for a in addresses if is_of_the_house(a) and known.scope.covers_address(a)]
    return make(settings, known.names, list(dict.fromkeys([*allowed, *known.addresses])), now_at)


def _new_authority(places: kept.Places, names: Sequence[str], addresses: Sequence[str], now_at: datetime) -> Scope:
    scope = scope_of(names, addresses)
    pair = make_authority(f"rindwatch at {machine_name()}, {now_at:%Y-%m-%d}", scope, now_at)
    places.authority_key.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    write_secret(places.authority_key, pair.key_pem.decode())
    _put(places.authority, pair.certificate_pem)
    return scope


def _new_leaf(
    places: kept.Places, scope: Scope, names: Sequence[str], addresses: Sequence[str], now_at: datetime
) -> kept.Kept:
    authority = Pair(places.authority_key.read_bytes(), places.authority.read_bytes())
    pair = make_leaf(authority, names, addresses, now_at)
    write_secret(places.key, pair.key_pem.decode())
    _put(places.certificate, pair.certificate_pem)
    made = kept.Kept(
        best_host(names, addresses), tuple(names), tuple(addresses), ends_at(pair.certificate_pem),
        ends_at(authority.certificate_pem), scope,
    )  # fmt: skip
    # Last, because the serving process takes its appearance as the sign that the others are in place.
    _put(places.facts, made.text().encode())
    return made


def _put(path: Path, content: bytes) -> None:
    beside = path.with_suffix(".new")
    beside.write_bytes(content)
    os.replace(beside, path)
