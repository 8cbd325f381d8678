"""The API's own description, in OpenAPI."""

from typing import Any

from fastapi import APIRouter, Request

from dashboard.api.access import EITHER
from dashboard.people.cookie import PLAIN_NAME

router = APIRouter()
SCHEMES = {
    "token": {"type": "http", "scheme": "bearer", "description": "made under Settings, Programs"},
    "signed_in": {"type": "apiKey", "in": "cookie", "name": PLAIN_NAME, "description": "whoever is signed in"},
}


@router.get("/openapi.json", dependencies=[EITHER], include_in_schema=False)
def openapi(request: Request) -> dict[str, Any]:
    description: dict[str, Any] = request.app.openapi()
    description.setdefault("components", {})["securitySchemes"] = SCHEMES
    return description | {"security": [{name: []} for name in SCHEMES]}
