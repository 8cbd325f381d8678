"""What `rindwatch tls` says: which names the certificate has, and a QR code that leads a phone to it."""

import io
from collections.abc import Sequence

import segno

from collector.clock import SystemClock
from collector.errors import CaveError
from collector.prepare import prepare
from collector.records.engine import open_records, reading
from collector.settings import Settings, read_settings
from dashboard.addresses import machine_name, origin, own_addresses, reachable
from dashboard.household_kept import load
from dashboard.https import kept
from dashboard.https.making import make
from dashboard.https.names import default_names
from dashboard.https.paths import PHONE_PAGE
from dashboard.people.origin import host_of
from dashboard.settings import DashboardSettings


class NoCertificate(CaveError):
    """Nothing to show yet."""

    hint = "Run rindwatch tls first; it makes the certificate."

    def __init__(self) -> None:
        super().__init__("there is no certificate yet")


def make_and_tell(settings: Settings, names: Sequence[str], new_authority: bool) -> str:
    """Make the certificate and say what to do next.

    Raises:
        NameNotUsable, NameNotAllowed: one of the names.
    """
    prepare(settings)
    known = kept.kept(settings)
    before = known.names if known and not new_authority else ()
    all_names = dict.fromkeys(
        [*(name.lower() for name in names), *before, *default_names(_base_host(settings), machine_name())]
    )
    make(settings, list(all_names), own_addresses(settings.own_address), SystemClock().now(), new_authority)
    return tell(settings)


def tell(settings: Settings) -> str:
    """The certificate in words, and the phone's way to it as an address and a QR code.

    Raises:
        NoCertificate: none was made yet.
    """
    known = kept.kept(settings)
    if known is None:
        raise NoCertificate
    own = read_settings(DashboardSettings)
    phone = origin("http", reachable(settings.listen, settings.own_address), own.http_port) + PHONE_PAGE
    return "\n".join(
        [
            f"The certificate is for {', '.join((*known.names, *known.addresses))}",
            f"and good until {known.ends_at:%Y-%m-%d}; it is renewed by itself while rindwatch runs.",
            f"The pages over https: {origin('https', known.host, own.https_port)}",
            "",
            "On the phone, in the house's Wi-Fi, open this (or point its camera at the square):",
            f"  {phone}",
            "",
            qr_text(phone),
        ]
    )


def qr_text(address: str) -> str:
    """A QR code in half-blocks for a terminal, dark on light."""
    out = io.StringIO()
    segno.make(address, error="m", micro=False).terminal(out, compact=True)
    return out.getvalue()


def _base_host(settings: Settings) -> str:
    engine = open_records(settings.records_at)
    try:
        with reading(engine) as db:
            chosen = load(db).base_address
    finally:
        engine.dispose()
    return host_of(chosen or read_settings(DashboardSettings).base_address)
