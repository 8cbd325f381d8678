"""Setting up a phone: its certificate, its place on the home screen, its readiness for the cellar."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, ClassVar

from fastapi import APIRouter, Body, HTTPException
from starlette.responses import Response

from dashboard.https import kept
from dashboard.https.paths import AUTHORITY_FILE, PHONE_PAGE
from dashboard.navigation import Nav
from dashboard.people import sessions
from dashboard.people.cookie import is_https
from dashboard.phone_steps import NAMES, STEPS, PhoneStep
from dashboard.visit import Anyone, Guest

router = APIRouter()
NAV = Nav("This phone", "/phone", "phone", "more", 80)


@dataclass(frozen=True, slots=True)
class PhonePage:
    template: ClassVar[str] = "phone.html"
    title: str
    steps: tuple[PhoneStep, ...]
    ticks: Mapping[str, bool]
    is_set_up: bool
    certificate_page: str
    has_certificate: bool
    safe_address: str


@dataclass(frozen=True, slots=True)
class CertificatePage:
    template: ClassVar[str] = "phone_certificate.html"
    title: str
    has_certificate: bool
    file: str
    safe_address: str
    is_safe_now: bool


@router.get("/phone")
def phone(visit: Guest) -> Response:
    with visit.looking() as db:
        ticks = sessions.ticks(db, visit.session_id)
    has_certificate = kept.kept(visit.house.settings) is not None
    return visit.page(
        PhonePage(
            "This phone", STEPS, ticks, all(ticks.get(name) for name in NAMES), PHONE_PAGE, has_certificate,
            visit.house.doors.https,
        )
    )  # fmt: skip


@router.post("/phone/ticks")
def tick(visit: Guest, done: Annotated[dict[str, bool], Body()]) -> Response:
    """What the phone found out about itself; takes only steps that there are."""
    if not set(done) <= NAMES:
        raise HTTPException(422)
    with visit.changing() as db:
        for name, value in done.items():
            sessions.tick(db, visit.session_id, name, value)
    return Response(status_code=204)


@router.get(PHONE_PAGE)
def certificate(visit: Anyone) -> Response:
    """How a phone comes to trust this house; open to a phone that is not signed in yet."""
    has_certificate = kept.kept(visit.house.settings) is not None
    return visit.page(
        CertificatePage(
            "Let this phone trust the house", has_certificate, AUTHORITY_FILE, visit.house.doors.https,
            is_https(visit.request),
        )
    )  # fmt: skip


@router.get(AUTHORITY_FILE)
def authority(visit: Anyone) -> Response:
    """The authority's certificate; it holds no secret."""
    content = kept.authority_der(visit.house.settings)
    if content is None:
        raise HTTPException(404)
    headers = {"Content-Disposition": 'attachment; filename="rindwatch.crt"', "Cache-Control": "no-cache"}
    return Response(content, media_type="application/x-x509-ca-cert", headers=headers)
