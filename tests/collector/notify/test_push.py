"""Web Push: sealed for one phone, only to the open internet, and a phone that is gone is dropped."""

import base64
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import http_ece
import pytest
from cryptography.hazmat.primitives.asymmetric import ec

from collector.errors import WarningNotSent
from collector.notify.push import LARGEST_TEXT, Push, payload, topic
from collector.notify.push_keys import private_key, public_key
from collector.settings import Settings
from tests.collector.notify.phone import Phone, base64url, certificate, token_claims, unbase64url
from tests.collector.notify.servers import WebServer, web_server
from tests.collector.notify.test_channel_contract import a_message

# RFC 8291, section 5 and appendix A.
PLAIN = b"When I grow up, I want to be a watermelon"
RECEIVER_PRIVATE = "q1dXpw3UpT5VOmu_cf_v6ih07Aems3njxI-JWgLcM94"
RECEIVER_PUBLIC = "BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4"
SENDER_PRIVATE = "yfWPiYE-n46HLnH0KqZOF1fJJU3MYrct3AELtAQ-oRw"
AUTH, SALT = "BTBZMqHH6r4Tts7J_aSIgg", "DGv6ra1nlYgDCS1FRnbzlw"
BODY = (
    "DGv6ra1nlYgDCS1FRnbzlwAAEABBBP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27mlmlMoZIIgDll6e3vCYLocInmYWAmS6TlzAC8wEqKK6PBru3jl"
    "7A_yl95bQpu6cVPTpK4Mqgkf1CXztLVBSt2Ks3oZwbuwXPXLWyouBWLVWGNWQexSgSxsj_Qulcy4a-fN"
)
# RFC 8292, section 2.4.
TOKEN = (
    "eyJ0eXAiOiJKV1QiLCJhbGciOiJFUzI1NiJ9.eyJhdWQiOiJodHRwczovL3B1c2guZXhhbXBsZS5uZXQiLCJleHAiOjE0NTM1MjM3NjgsInN1YiI"
    "6Im1haWx0bzpwdXNoQGV4YW1wbGUuY29tIn0.i3CYb7t4xfxCDquptFOepC9GAu_HLGkMlMuCGSK2rpiUfnK9ojFwDXb1JrErtmysazNjjvW2L9O"
    "kSSHzvoD1oA"
)
TOKEN_KEY = "BA1Hxzyi1RUM1b5wjxsn7nGxAszw2u61m164i3MrAIxHF6YK5h4SDYic-dRuU_RCPCfA5aq9ojSwk5Y2EmClBPs"


def a_phone() -> Phone:
    return Phone(int.from_bytes(unbase64url(RECEIVER_PRIVATE), "big"), unbase64url(AUTH))


@pytest.fixture
def service(tmp_path: Path) -> Iterator[tuple[WebServer, dict[str, Any]]]:
    """A push service and the options of a subscription there."""
    pair = certificate(tmp_path)
    with web_server(pair) as web:
        web.status = 201
        keys = a_phone().subscription("")["keys"]
        key = private_key(Settings(data=tmp_path))
        options = {"key": key, "contact": "mailto:keeper@example.org", "test_ca": str(pair[0]), **keys}
        yield web, options | {"endpoint": f"https://127.0.0.1:{web.port}/send/abc"}


def test_the_phone_of_these_tests_reads_the_example_of_rfc_8291() -> None:
    assert base64url(a_phone().public) == RECEIVER_PUBLIC
    assert a_phone().read(unbase64url(BODY)) == PLAIN


def test_the_library_seals_as_rfc_8291_says() -> None:
    sender = ec.derive_private_key(int.from_bytes(unbase64url(SENDER_PRIVATE), "big"), ec.SECP256R1())
    sealed = http_ece.encrypt(
        PLAIN, salt=unbase64url(SALT), private_key=sender, dh=unbase64url(RECEIVER_PUBLIC),
        auth_secret=unbase64url(AUTH), version="aes128gcm",
    )  # fmt: skip
    assert base64url(sealed) == BODY


def test_the_reader_of_tokens_takes_the_example_of_rfc_8292() -> None:
    assert token_claims(f"vapid t={TOKEN}, k={TOKEN_KEY}") == {
        "aud": "https://push.example.net", "exp": 1453523768, "sub": "mailto:push@example.com",
    }  # fmt: skip


def test_what_was_sent_is_read_by_the_phone(service: tuple[WebServer, dict[str, Any]]) -> None:
    web, options = service
    Push("phone", options).send(a_message())
    [request] = web.requests
    shown = json.loads(a_phone().read(request.body))
    assert shown == {
        "web_push": 8030,
        "notification": {
            "title": "Lower fridge: too warm",
            "body": "14.8 °C over the last hour.",
            "navigate": "https://cave.home.arpa/warnings/1",
            "tag": a_message().id,
        },
    }


def test_the_request_carries_what_the_push_service_needs(
    service: tuple[WebServer, dict[str, Any]], tmp_path: Path
) -> None:
    web, options = service
    Push("phone", options).send(a_message(severity="urgent"))
    [request] = web.requests
    assert request.path == "/send/abc"
    assert int(request.headers["ttl"]) == 86_400
    assert request.headers["urgency"] == "high"
    assert request.headers["content-encoding"] == "aes128gcm"
    # RFC 8030 section 5.4: at most 32 characters of the URL and filename safe base64 alphabet.
    assert request.headers["topic"] == "01957a3c000070008000000000000001"
    claims = token_claims(request.headers["authorization"])
    assert claims["aud"] == f"https://127.0.0.1:{web.port}"
    assert claims["sub"] == "mailto:keeper@example.org"
    assert f"k={public_key(Settings(data=tmp_path))}" in request.headers["authorization"].replace(" ", "")


def test_two_services_get_tokens_of_their_own(service: tuple[WebServer, dict[str, Any]], tmp_path: Path) -> None:
    web, options = service
    folder = tmp_path / "second"
    folder.mkdir()
    pair = certificate(folder)
    both = tmp_path / "both.pem"
    both.write_bytes(Path(options["test_ca"]).read_bytes() + pair[0].read_bytes())
    with web_server(pair) as second:
        for server in (web, second):
            server.status = 201
            endpoint = f"https://127.0.0.1:{server.port}/x"
            Push("phone", options | {"endpoint": endpoint, "test_ca": str(both)}).send(a_message())
    audiences = [token_claims(server.requests[0].headers["authorization"])["aud"] for server in (web, second)]
    assert audiences == [f"https://127.0.0.1:{web.port}", f"https://127.0.0.1:{second.port}"]


@pytest.mark.parametrize("status", [404, 410])
def test_a_subscription_that_ended_is_gone(service: tuple[WebServer, dict[str, Any]], status: int) -> None:
    web, options = service
    web.status = status
    with pytest.raises(WarningNotSent, match="ended its subscription") as caught:
        Push("phone", options).send(a_message())
    assert caught.value.gone
    assert not caught.value.retry


@pytest.mark.parametrize(("status", "retry"), [(400, True), (401, True), (413, False), (429, True), (503, True)])
def test_other_refusals_are_tried_again_but_for_a_message_too_large(
    service: tuple[WebServer, dict[str, Any]], status: int, retry: bool
) -> None:
    web, options = service
    web.status, web.headers = status, {"Retry-After": "120"}
    with pytest.raises(WarningNotSent, match=f"127.0.0.1 answered {status}") as caught:
        Push("phone", options).send(a_message())
    assert (caught.value.retry, caught.value.gone, caught.value.wait_s) == (retry, False, 120)


@pytest.mark.parametrize("status", [301, 302, 307, 308])
def test_a_redirect_is_not_followed(service: tuple[WebServer, dict[str, Any]], status: int) -> None:
    web, options = service
    with web_server() as inside:
        web.status, web.headers = status, {"Location": f"http://127.0.0.1:{inside.port}/admin"}
        with pytest.raises(WarningNotSent, match="redirect, which is not followed"):
            Push("phone", options).send(a_message())
        assert inside.requests == []


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost"])
def test_an_endpoint_in_the_house_is_not_spoken_to(service: tuple[WebServer, dict[str, Any]], host: str) -> None:
    web, options = service
    inside = options | {"endpoint": f"https://{host}:{web.port}/x", "test_ca": None}
    with pytest.raises(WarningNotSent, match="is in the house, where this may not go"):
        Push("phone", inside).send(a_message())
    assert web.requests == []


def test_an_endpoint_without_tls_is_dropped(service: tuple[WebServer, dict[str, Any]]) -> None:
    web, options = service
    with pytest.raises(WarningNotSent, match="must begin with https") as caught:
        Push("phone", options | {"endpoint": f"http://127.0.0.1:{web.port}/x"}).send(a_message())
    assert caught.value.gone


def test_a_certificate_that_nobody_vouches_for_is_refused(
    service: tuple[WebServer, dict[str, Any]], tmp_path: Path
) -> None:
    _, options = service
    other = tmp_path / "other"
    other.mkdir()
    with pytest.raises(WarningNotSent, match=r"the certificate of 127\.0\.0\.1 is not trusted"):
        Push("phone", options | {"test_ca": str(certificate(other)[0])}).send(a_message())


def test_keys_that_cannot_be_used_drop_the_subscription(service: tuple[WebServer, dict[str, Any]]) -> None:
    _, options = service
    with pytest.raises(WarningNotSent, match="keys cannot be used") as caught:
        Push("phone", options | {"p256dh": base64.urlsafe_b64encode(b"\4" + bytes(64)).decode()}).send(a_message())
    assert caught.value.gone


def test_a_long_message_is_cut_to_what_a_push_may_carry() -> None:
    # RFC 8291 section 4: plaintext up to 3993 octets.
    text = payload(a_message(body="é" * 4_000))
    assert len(text.encode()) <= LARGEST_TEXT == 3_993
    assert json.loads(text)["notification"]["body"].endswith("…")


def test_an_all_clear_takes_the_place_of_its_warning() -> None:
    over = a_message(id="01957a3c-0000-7000-8000-000000000002", thread=a_message().id)
    assert topic(over) == topic(a_message())
    assert json.loads(payload(over))["notification"]["tag"] == a_message().id
