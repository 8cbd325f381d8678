"""What browsers fetch beside the pages: static files, the manifest, the worker, a sign of life."""

import json

from fastapi import APIRouter
from starlette.responses import JSONResponse, Response

from dashboard.visit import Anyone, allow

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
