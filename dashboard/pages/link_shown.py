"""A one-time link as a page shows it to be handed on: for a phone that is new here with the certificate before it."""

from dataclasses import dataclass

from markupsafe import Markup

from dashboard.https import kept
from dashboard.https.paths import PHONE_PAGE
from dashboard.pages.safe_connection import qr_picture
from dashboard.people.origin import host_of
from dashboard.visit import Visit


@dataclass(frozen=True, slots=True)
class LinkShown:
    """The link and its square; `certificate` is where a new phone learns to trust it first, "" where that is not ours
    to give: over plain http, and at a name whose certificate somebody else has made."""

    address: str
    qr: Markup
    certificate: str
    certificate_qr: Markup


def link_shown(visit: Visit, path: str) -> LinkShown:
    """How to hand on a link to a page of ours."""
    base, http = visit.base_address, visit.house.doors.http
    found = kept.kept(visit.house.settings)
    is_ours = found is not None and host_of(base) in (*found.names, *found.addresses)
    certificate = http + PHONE_PAGE if base.startswith("https://") and http and is_ours else ""
    picture = qr_picture(certificate) if certificate else Markup()
    return LinkShown(base + path, qr_picture(base + path), certificate, picture)
