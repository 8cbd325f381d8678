"""A link that is handed to a phone which does not know this house's certificate yet."""

from typing import Any

import pytest
from fastapi.testclient import TestClient

from collector.settings import Settings
from dashboard.https.making import make
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.pages.test_people import add

HTTP, CERTIFICATE = "http://192.168.7.20:8000", "http://192.168.7.20:8000/phone/certificate"


def handed_on(owner: TestClient, https: str) -> str:
    app: Any = owner.app
    app.state.house.doors.http, app.state.house.doors.https = HTTP, https
    return owner.post(f"{add(owner)}/invitation").text


@pytest.mark.parametrize("host", ["cave.home.arpa", "192.168.7.20"])
def test_over_https_the_certificate_comes_first(owner: TestClient, settings: Settings, host: str) -> None:
    make(settings, ["cave.home.arpa"], ["192.168.7.20"], NOW_AT)
    page = handed_on(owner, f"https://{host}:8443")
    assert page.index(f"<code>{CERTIFICATE}</code>") < page.index(f"<code>https://{host}:8443/first/")
    assert page.count("<svg") - page.count("<svg", 0, page.index("<main")) >= 2


def test_over_plain_http_there_is_only_the_link(owner: TestClient) -> None:
    page = handed_on(owner, "")
    assert CERTIFICATE not in page
    assert f"<code>{HTTP}/first/" in page


def test_a_certificate_that_phones_know_already_is_not_ours_to_give(owner: TestClient, settings: Settings) -> None:
    make(settings, ["cave.home.arpa"], ["192.168.7.20"], NOW_AT)
    page = handed_on(owner, "https://dairy.example")
    assert CERTIFICATE not in page
    assert "<code>https://dairy.example/first/" in page
