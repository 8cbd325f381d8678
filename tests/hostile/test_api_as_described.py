"""The whole API, asked at random by each role and by tokens: never broken, never an answer that is not described."""

from collections.abc import Callable
from typing import Any

import pytest
import schemathesis
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, Phase, given, seed
from hypothesis import settings as tries
from hypothesis import strategies as st
from schemathesis.checks import not_a_server_error
from schemathesis.generation import GenerationMode
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)
from sqlalchemy import Engine

from collector.prepare import prepare
from collector.records.columns import to_ms
from collector.settings import Settings
from dashboard.app import Dashboard
from dashboard.people.person import ROLES, Role
from tests.dashboard.conftest import ADDRESS, NOW_AT
from tests.dashboard.dairy import a_place, a_placement, a_target, a_warning, keep
from tests.dashboard.people.test_tokens import a_token
from tests.dashboard.places_seen import a_message

EACH = 6  # requests to each operation by each asker: enough to hit every kind of parameter, within some seconds
# An installation whose readings were never prepared says so; here they are.
BROKEN = 503
WAYS = tries(
    max_examples=EACH, deadline=None, database=None, phases=[Phase.generate], suppress_health_check=list(HealthCheck)
)
CHECKS = [not_a_server_error, status_code_conformance, content_type_conformance, response_schema_conformance]


@pytest.fixture
def house(settings: Settings, engine: Engine) -> None:
    prepare(settings)
    with engine.begin() as db:
        place = a_place(db)
        a_target(db, place)
        a_placement(db, "cellar-1", place)
        a_warning(db, place_id=place)
    keep(settings, [a_message("cellar-1", to_ms(NOW_AT) - minute * 600_000) for minute in range(12)])


def operations(app: Dashboard) -> list[Any]:
    schema = schemathesis.openapi.from_dict(app.openapi())
    return [found.ok() for found in schema.get_all_operations()]


def ask(client: TestClient, operation: Any, headers: dict[str, str]) -> set[int]:
    """Ask an operation some ways, right and wrong ones; returns the statuses that came."""
    came: set[int] = set()
    modes = [GenerationMode.POSITIVE, GenerationMode.NEGATIVE]

    @seed(7)
    @WAYS
    @given(st.one_of([operation.as_strategy(generation_mode=mode) for mode in modes]))
    def each(case: Any) -> None:
        asked = case.as_transport_kwargs(base_url=ADDRESS, headers={"Origin": ADDRESS, **headers})
        asked.pop("cookies", None)
        if isinstance(asked.get("data"), str | bytes):
            asked["content"] = asked.pop("data")
        answer = client.request(**asked)
        came.add(answer.status_code)
        assert answer.status_code != BROKEN
        case.validate_response(answer, checks=CHECKS)

    each()
    return came


@pytest.mark.parametrize("role", ROLES)
def test_each_role_gets_what_is_described(
    role: Role, app: Dashboard, visitor: Callable[[Role], TestClient], house: None
) -> None:
    client, found = visitor(role), operations(app)
    assert len(found) >= 15
    came = {status for operation in found for status in ask(client, operation, {})}
    if role == "anyone":
        assert came <= {400, 401}, "nobody learns what there is"
    else:
        assert 200 in came


@pytest.mark.parametrize("scope", ["read", "export", "write"])
def test_a_token_gets_what_is_described(
    scope: str, app: Dashboard, stranger: TestClient, engine: Engine, house: None
) -> None:
    token = a_token(engine, scope, probe="cellar-1")
    came = {status for operation in operations(app) for status in ask(stranger, operation, token)}
    assert came & {401, 403}
    assert 500 not in came
