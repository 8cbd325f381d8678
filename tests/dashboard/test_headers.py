"""Every answer carries the policy, also the one that tells of a broken page."""

import pytest
from fastapi.testclient import TestClient

from dashboard.app import Dashboard
from dashboard.headers import POLICY


@pytest.mark.parametrize("path", ["/more", "/nothing-here", "/static/x/rindwatch.css", "/api/openapi.json", "/broken"])
def test_every_answer_has_the_headers(app: Dashboard, owner: TestClient, path: str) -> None:
    @app.get("/broken")
    def broken() -> None:
        raise RuntimeError("secret of the inside")

    answer = owner.get(path)
    assert answer.headers["content-security-policy"] == POLICY
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["referrer-policy"] == "same-origin"
    assert "secret of the inside" not in answer.text


def test_the_policy_lets_no_inline_script_or_style_in() -> None:
    assert "unsafe" not in POLICY
    assert "default-src 'none'" in POLICY
    assert "http" not in POLICY
