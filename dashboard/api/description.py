"""The API's own description, in OpenAPI."""

from typing import Any

from fastapi import APIRouter, Request

from dashboard.visit import allow

router = APIRouter()


@router.get("/openapi.json", dependencies=[allow("guest")], include_in_schema=False)
def openapi(request: Request) -> dict[str, Any]:
    description: dict[str, Any] = request.app.openapi()
    return description
