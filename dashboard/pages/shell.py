"""What browsers fetch beside the pages: static files, the manifest, the worker, a sign of life."""

import json
from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter
from starlette.responses import HTMLResponse, JSONResponse, Response

from dashboard.visit import Anyone, allow
from dashboard.worker import OFFLINE_PAGE, worker_text

router = APIRouter()


@router.api_route("/static/{version}/{name}", methods=["GET", "HEAD"])
def static_file(visit: Anyone, version: str, name: str) -> Response:
    return visit.house.assets.answer(visit.request.headers, version, name)


@router.get("/healthz", dependencies=[allow("anyone")])
def sign_of_life() -> Response:
    """Answers while the dashboard works; says nothing else."""
    return JSONResponse({"alive": True}, headers={"Cache-Control": "no-store"})


@router.get("/manifest.webmanifest")
def manifest(visit: Anyone) -> Response:
    """What a phone needs to put rindwatch on its home screen."""
    url = visit.house.assets.url
    icons = [
        {"src": url("icon-192.png"), "sizes": "192x192", "type": "image/png"},
        {"src": url("icon-512.png"), "sizes": "512x512", "type": "image/png"},
        {"src": url("icon-maskable-512.png"), "sizes": "512x512", "type": "image/png", "purpose": "maskable"},
    ]
    body = {
        "id": "/", "start_url": "/", "scope": "/", "display": "standalone", "lang": "en",
        "name": visit.household.dairy_name or "rindwatch", "short_name": "rindwatch",
        "background_color": "#fbf8f1", "theme_color": "#fbf8f1", "icons": icons,
    }  # fmt: skip
    return Response(json.dumps(body), media_type="application/manifest+json", headers={"Cache-Control": "no-cache"})


@router.get("/sw.js")
def worker(visit: Anyone) -> Response:
    """The service worker; at the root, so that it may answer for every page."""
    text = worker_text(visit.house.assets)
    return Response(text, media_type="text/javascript", headers={"Cache-Control": "no-cache"})


@dataclass(frozen=True, slots=True)
class OfflinePage:
    template: ClassVar[str] = "offline.html"
    title: str = "The house does not answer"


@router.get(OFFLINE_PAGE)
def offline(visit: Anyone) -> Response:
    """What a phone shows while it cannot reach this machine; it carries nothing of anybody."""
    html = visit.house.templates.render(OfflinePage.template, visit.household, page=OfflinePage())
    return HTMLResponse(html, headers={"Cache-Control": "no-cache"})
