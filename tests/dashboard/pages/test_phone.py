"""A phone's set-up: the certificate for everybody, the ticks for its own sign-in."""

import pytest
from cryptography import x509
from fastapi.testclient import TestClient

from collector.clock import SystemClock
from collector.settings import Settings
from dashboard.https.making import make
from dashboard.phone_steps import NAMES


def test_without_a_certificate_the_page_says_who_makes_one(stranger: TestClient) -> None:
    assert "no certificate yet" in stranger.get("/phone/certificate").text
    assert stranger.get("/ca.crt").status_code == 404


def test_the_authority_is_had_without_signing_in_and_is_the_right_one(stranger: TestClient, settings: Settings) -> None:
    make(settings, ["cave.home.arpa"], [], SystemClock().now())
    answer = stranger.get("/ca.crt")
    assert answer.headers["content-type"] == "application/x-x509-ca-cert"
    found = x509.load_der_x509_certificate(answer.content)
    assert found.extensions.get_extension_for_class(x509.BasicConstraints).value.ca
    assert b"PRIVATE" not in answer.content
    assert "Take the certificate" in stranger.get("/phone/certificate").text


def test_ticks_are_kept_for_this_phone(guest: TestClient, helper: TestClient) -> None:
    assert guest.post("/phone/ticks", json=dict.fromkeys(NAMES, True)).status_code == 204
    assert "This phone is set up." in guest.get("/phone").text
    assert "This phone is set up." not in helper.get("/phone").text


@pytest.mark.parametrize("ticks", [{"nothing": True}, {"trusted": "perhaps"}, ["trusted"]])
def test_a_step_that_there_is_not_is_refused(guest: TestClient, ticks: object) -> None:
    assert guest.post("/phone/ticks", json=ticks).status_code == 422
