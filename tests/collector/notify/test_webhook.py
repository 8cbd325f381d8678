"""The webhook's signature, and what goes wrong on the way."""

import base64
import hashlib
import hmac
import json
from datetime import UTC, datetime
from threading import Event

import pytest

from collector.clock import ManualClock
from collector.errors import WarningNotSent
from collector.notify import web
from collector.notify.webhook import Webhook, signature
from tests.collector.notify.servers import web_server
from tests.collector.notify.test_channel_contract import a_message

AT = datetime(2026, 3, 12, 12, 0, tzinfo=UTC)


def test_signs_as_standard_webhooks_says() -> None:
    # The example of the Standard Webhooks specification, from memory; that the signature fits proves the recall.
    secret, message_id = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw", "msg_p5jXN8AQM9LWM0D4loKWxJek"
    expected = "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="
    assert signature(secret, message_id, 1_614_265_330, b'{"test": 2432232314}') == expected


def test_the_receiver_can_check_what_it_got() -> None:
    with web_server() as server:
        options = {"url": f"http://127.0.0.1:{server.port}/hook?k=v", "secret": "own secret"}
        Webhook("hook", options, ManualClock(AT)).send(a_message(problems=({"rule": "too_warm"},)))
        [request] = server.requests
    signed = f"{a_message().id}.{int(AT.timestamp())}.".encode() + request.body
    expected = base64.b64encode(hmac.new(b"own secret", signed, hashlib.sha256).digest()).decode()
    assert request.headers["webhook-signature"] == f"v1,{expected}"
    assert request.headers["webhook-id"] == a_message().id
    assert request.path == "/hook?k=v"
    body = json.loads(request.body)
    assert body["problems"] == [{"rule": "too_warm"}]
    assert body["written_at"] == "2026-03-12T12:00:00+00:00"


def test_a_redirect_into_the_house_is_refused() -> None:
    with web_server() as server, web_server() as inside:
        server.status, server.headers = 307, {"Location": f"http://127.0.0.1:{inside.port}/off"}
        with pytest.raises(WarningNotSent, match="redirect"):
            Webhook("hook", {"url": f"http://127.0.0.1:{server.port}/", "secret": "s"}).send(a_message())
        assert inside.requests == []


@pytest.mark.parametrize("status", [400, 410, 500])
def test_a_refusal_names_its_number(status: int) -> None:
    with web_server() as server:
        server.status, server.headers = status, {"Retry-After": "60"}
        with pytest.raises(WarningNotSent, match=rf"127\.0\.0\.1 answered {status}") as caught:
            Webhook("hook", {"url": f"http://127.0.0.1:{server.port}/", "secret": "s"}).send(a_message())
    assert (caught.value.wait_s, caught.value.gone) == (60, False)


def test_a_receiver_that_hangs_is_left(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(web, "TIMEOUT_S", 0.2)
    with web_server() as server:
        server.hang = Event()
        with pytest.raises(WarningNotSent, match="did not answer within"):
            Webhook("hook", {"url": f"http://127.0.0.1:{server.port}/", "secret": "s"}).send(a_message())
