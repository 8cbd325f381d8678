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
from tests.dashboard.route_table import table

# They ask for a secret of their own instead of a sign-in.
BY_SECRET = {"/metrics", "/calendar/{token}"}


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


def roles_found(app: Dashboard) -> dict[tuple[str, str], Role | None]:
    return {
        (method, path): rule_of(route)
        for path, route in every_route(app.routes)
        if isinstance(route, APIRoute)
        for method in route.methods
    }


def test_every_route_stands_in_the_table_with_its_role(app: Dashboard) -> None:
    found, thought_of = roles_found(app), table()
    new = {f"{' '.join(key)}: {role}" for key, role in found.items() if thought_of.get(key) != role}
    assert not new, "think of who may use these, and write them into tests/dashboard/route_table.py"
    gone = thought_of.keys() - found.keys()
    assert not gone, "these are no routes any more"


def test_each_role_reaches_what_is_its_own(app: Dashboard, visitor: Callable[[Role], TestClient]) -> None:
    clients = {role: visitor(role) for role in ROLES}
    for (method, path), role in table().items():
        if method == "GET" and path not in BY_SECRET:
            answer = clients[role].get(path.replace("{", "").replace("}", "").replace(":path", ""))
            assert answer.status_code not in {401, 403, 500}, f"{role} got {answer.status_code} at {path}"
            to_sign_in = answer.headers.get("location", "").startswith("/sign-in")
            assert not to_sign_in, f"{role} is sent away from {path}"


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
