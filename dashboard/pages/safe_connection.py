"""The owner's page about https: make the certificate, and show phones the way to it."""

import subprocess
import sys
from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar

from fastapi import APIRouter
from markupsafe import Markup
from starlette.responses import Response

from dashboard.addresses import machine_name
from dashboard.forms import Form
from dashboard.https import kept
from dashboard.https.names import default_names
from dashboard.https.paths import PHONE_PAGE
from dashboard.https.scope import is_host_name
from dashboard.navigation import Nav
from dashboard.people.origin import host_of
from dashboard.visit import Owner, Texts, Visit

router = APIRouter()
NAV = Nav("Safe connection", "/settings/https", "lock", "more", 85, role="owner")
WAIT_S = 30


@dataclass(frozen=True, slots=True)
class SafeConnectionPage:
    template: ClassVar[str] = "safe_connection.html"
    title: str
    form: Form
    names: tuple[str, ...]
    ends_at: datetime | None
    safe_address: str
    phone_address: str
    qr: Markup


def _page(visit: Visit, form: Form) -> SafeConnectionPage:
    found = kept.kept(visit.house.settings)
    doors = visit.house.doors
    phone_address = (doors.http or str(visit.request.base_url).rstrip("/")) + PHONE_PAGE
    return SafeConnectionPage(
        "Safe connection", form, (*found.names, *found.addresses) if found else (), found.ends_at if found else None,
        doors.https, phone_address, qr_picture(phone_address) if found else Markup(),
    )  # fmt: skip


def qr_picture(text: str) -> Markup:
    """A QR code as inline SVG without style attributes."""
    import segno  # only this page and the command line draw one

    svg = segno.make(text, error="m", micro=False).svg_inline(svgclass="qr", lineclass=None, omitsize=True, border=2)
    return Markup(svg)  # noqa: S704 # nosec B704


@router.get("/settings/https")
def safe_connection(visit: Owner) -> Response:
    return visit.page(_page(visit, Form({"name": host_of(visit.household.base_address)})))


@router.post("/settings/https")
def make(visit: Owner, texts: Texts) -> Response:
    """Makes the certificate in a process of its own; the server takes it up within seconds."""
    name = texts.get("name", "").strip().lower()
    form = Form({"name": name})
    if name and not is_host_name(name):
        return visit.refused(_page(visit, form.wrong("name", "Take a name like cave.home.arpa, without port or path.")))
    found = kept.kept(visit.house.settings)
    names = dict.fromkeys([name, *(found.names if found else ()), *default_names("", machine_name())])
    arguments = [sys.executable, "-m", "dashboard.https", "make", *(n for n in names if n)]
    done = subprocess.run(arguments, capture_output=True, text=True, timeout=WAIT_S, check=False)
    if done.returncode:
        return visit.refused(_page(visit, form.wrong("name", done.stdout.strip() or "No certificate could be made.")))
    return visit.go("/settings/https", "The certificate is made. The safe address opens in a few seconds.")
