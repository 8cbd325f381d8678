"""Errors are told in our words, with what to do, and without the inside."""

import inspect
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from collector import errors
from collector.settings import Settings
from dashboard.app import Dashboard
from dashboard.errors_shown import Trouble, of_error

PATH = Path("/secret/place/readings.sqlite3")
ERRORS = [
    errors.StoreFull(PATH, 7), errors.StoreUnavailable(PATH, 7, "database is locked"), errors.SchemaMissing(PATH),
    errors.SchemaTooNew(PATH, "9", "8"), errors.BrokerUnavailable("10.0.0.1:1883", "refused"),
    errors.RecordsUnavailable("sqlite:////secret/place/records.sqlite3", "file is locked"),
    errors.EntryRefused("weight", "weight_g of wheel 14 must be above 0, got -310"),
]  # fmt: skip


@pytest.mark.parametrize("error", ERRORS, ids=lambda error: type(error).__name__)
def test_an_error_of_ours_becomes_a_page_with_its_hint(
    app: Dashboard, owner: TestClient, error: errors.CaveError
) -> None:
    @app.get("/breaks")
    def breaks() -> None:
        raise error

    answer = owner.get("/breaks")
    assert answer.status_code == (422 if isinstance(error, errors.EntryRefused) else 503)
    assert error.hint in answer.text
    for inside in ("/secret", "sqlite", "10.0.0.1", "locked"):
        assert inside not in answer.text


def test_every_error_of_ours_is_told_somehow() -> None:
    for _name, kind in inspect.getmembers(errors, inspect.isclass):
        if issubclass(kind, errors.CaveError):
            assert isinstance(of_error(kind.__new__(kind)), Trouble)


@pytest.mark.parametrize(("method", "path", "status"), [("GET", "/nothing", 404), ("DELETE", "/more", 405)])
def test_wrong_ways_end_in_the_same_page(owner: TestClient, method: str, path: str, status: int) -> None:
    answer = owner.request(method, path)
    assert answer.status_code == status
    assert "To the first page" in answer.text


def test_the_api_answers_in_one_shape(owner: TestClient, stranger: TestClient) -> None:
    assert set(owner.get("/api/nothing").json()["error"]) == {"what", "hint"}
    answer = stranger.get("/api/openapi.json")
    assert answer.status_code == 401
    assert set(answer.json()["error"]) == {"what", "hint"}


def test_records_that_cannot_be_read_are_told_and_nothing_more(owner: TestClient, settings: Settings) -> None:
    (settings.data / "records.sqlite3").write_bytes(b"not a database at all, but long enough to look at" * 50)
    answer = owner.get("/more")
    assert answer.status_code == 503
    assert "Nothing can be read or saved just now." in answer.text
    assert "sqlite" not in answer.text.lower()


def test_a_body_that_is_too_large_is_refused(owner: TestClient) -> None:
    answer = owner.post("/settings/household", content=b"x" * 2_500_000)
    assert answer.status_code == 413
    assert "too much at once" in answer.text
    assert "error" in owner.post("/api/nothing", content=b"x" * 2_500_000).json()
    form = {"Content-Type": "application/x-www-form-urlencoded"}
    slow = owner.post("/settings/household", content=iter([b"x" * 500_000] * 5), headers=form)
    assert slow.status_code == 413
