"""Every route has a rule, and the rule holds."""

from collections.abc import Callable, Iterator

import pytest
from fastapi import APIRouter
from fastapi.routing import APIRoute
from fastapi.testclient import TestClient
from starlette.routing import BaseRoute

from dashboard.app import Dashboard, public_paths, rule_of
from dashboard.people.person import ROLES, Role
from dashboard.visit import Anyone

PUBLIC = {
    ("GET", "/sign-in"),
    ("POST", "/sign-in"),
    ("GET", "/first/{token}"),
    ("POST", "/first/{token}"),
    ("GET", "/static/{version}/{name}"),
    ("HEAD", "/static/{version}/{name}"),
    ("GET", "/manifest.webmanifest"),
    ("GET", "/healthz"),
    ("GET", "/sw.js"),
    ("GET", "/offline"),
    ("GET", "/ca.crt"),
    ("GET", "/phone/certificate"),
    ("GET", "/metrics"),  # to whoever is signed in or shows the token of the settings
    ("GET", "/calendar/{token}"),  # its address is the secret: calendars cannot sign in
}


def every_route(routes: list[BaseRoute], prefix: str = "") -> Iterator[tuple[str, BaseRoute]]:
    """All routes with their whole path; an included router keeps its own inside one object."""
    for route in routes:
        inner = getattr(route, "original_router", None)
        if inner is not None:
            yield from every_route(inner.routes, prefix + route.include_context.prefix)  # type: ignore[attr-defined]
        else:
            yield prefix + getattr(route, "path", "?"), route


def test_every_route_has_exactly_one_rule(app: Dashboard) -> None:
    routes = list(every_route(app.routes))
    assert len(routes) > 12
    assert [path for path, route in routes if rule_of(route) is None] == []


def test_what_is_open_to_everybody_stands_in_this_table(app: Dashboard) -> None:
    found = {
        (method, path)
        for path, route in every_route(app.routes)
        if isinstance(route, APIRoute) and rule_of(route) == "anyone"
        for method in route.methods
    }
    assert found == PUBLIC


@pytest.mark.parametrize("role", ["anyone", "guest", "helper"])
def test_nobody_uses_a_route_above_his_role(app: Dashboard, visitor: Callable[[Role], TestClient], role: Role) -> None:
    client = visitor(role)
    tried = 0
    for path, route in every_route(app.routes):
        needed = rule_of(route)
        if not isinstance(route, APIRoute) or needed is None or ROLES.index(role) >= ROLES.index(needed):
            continue
        for method in route.methods:
            answer = client.request(method, path.replace("{", "").replace("}", ""))
            tried += 1
            to_sign_in = answer.status_code == 303 and answer.headers["location"].startswith("/sign-in")
            assert to_sign_in or answer.status_code in {401, 403}, f"{role} got {answer.status_code} at {method} {path}"
    assert tried


def test_a_public_path_may_not_begin_with_a_parameter() -> None:
    router = APIRouter()

    @router.get("/{anything}")
    def shown(visit: Anyone) -> None: ...

    with pytest.raises(ValueError, match="would open every page"):
        public_paths(router.routes)
