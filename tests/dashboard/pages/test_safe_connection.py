"""The owner makes the certificate from the page."""

import pytest
from fastapi.testclient import TestClient

from collector.settings import Settings
from dashboard.https.kept import kept


def test_one_touch_makes_a_certificate(owner: TestClient, settings: Settings, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("RINDWATCH_DATA", str(settings.data))  # the child reads its settings like every process
    answer = owner.post("/settings/https", data={"name": "Cave.home.arpa"})
    assert answer.status_code == 303
    made = kept(settings)
    assert made is not None
    assert made.host == "cave.home.arpa"
    page = owner.get("/settings/https").text
    assert "There is a certificate." in page
    assert "<svg" in page
    assert "style=" not in page
    refused = owner.post("/settings/https", data={"name": "cave.elsewhere.example"})
    assert refused.status_code == 422
    assert "may not speak for cave.elsewhere.example" in refused.text


def test_a_name_that_is_none_is_refused(owner: TestClient, settings: Settings) -> None:
    answer = owner.post("/settings/https", data={"name": "https://cave:8443/"})
    assert answer.status_code == 422
    assert "without port or path" in answer.text
    assert kept(settings) is None
