"""What every channel promises, held against real servers on this machine, in this process and by the sender's own."""

import contextlib
import json
import os
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from email.header import decode_header, make_header
from pathlib import Path
from typing import Any, Protocol

import pytest

from collector.errors import WarningNotSent
from collector.notify.child import ChildChannel
from collector.notify.message import Channel, Message
from collector.notify.push_keys import private_key
from collector.notify.sending import MAKERS
from collector.settings import Settings
from tests.collector.notify.broker import PROGRAM, listener, mosquitto
from tests.collector.notify.builders import Kept
from tests.collector.notify.phone import Phone, certificate
from tests.collector.notify.servers import mail_server, unused_port, wait_until, web_server

SECRET = "pa55word-of-this-test"
AT = datetime(2026, 3, 12, 12, 0, tzinfo=UTC)


def a_message(**changes: Any) -> Message:
    values: dict[str, Any] = {
        "id": "01957a3c-0000-7000-8000-000000000001", "kind": "opened", "severity": "warn",
        "title": "Lower fridge: too warm", "body": "14.8 °C over the last hour.", "created_at": AT,
        "link": "https://cave.home.arpa/warnings/1",
    }  # fmt: skip
    return Message(**values | changes)


class Other(Protocol):
    """The other side of a channel under test."""

    options: dict[str, Any]

    def got(self) -> list[tuple[str, str, str]]:
        """Id, title and body of what was taken, in order."""
        ...

    def refuse(self) -> None: ...


class MailSide:
    def __init__(self, server: Any) -> None:
        self._server = server
        address = f"127.0.0.1:{server.port}/?from=cave@example.org&to=keeper@example.org&mode=insecure"
        self.options = {"url": f"mailto://{SECRET}@{address}"}

    def got(self) -> list[tuple[str, str, str]]:
        found = []
        for mail in self._server.mails:
            part = next(p for p in mail.walk() if p.get_content_type().startswith("text/"))
            raw = part.get_payload(decode=True)
            text = raw.decode() if isinstance(raw, bytes) else ""
            own_id = str(mail["Message-ID"]).strip("<>").partition("@")[0]
            found.append((own_id, str(make_header(decode_header(mail["Subject"]))), text))
        return found

    def refuse(self) -> None:
        self._server.refuse = "451 not now"


class HookSide:
    def __init__(self, server: Any) -> None:
        self._server = server
        self.options = {"url": f"http://127.0.0.1:{server.port}/{SECRET}", "secret": SECRET}

    def got(self) -> list[tuple[str, str, str]]:
        bodies = [json.loads(request.body) for request in self._server.requests]
        return [(body["id"], body["title"], body["text"]) for body in bodies]

    def refuse(self) -> None:
        self._server.status = 500


class PushSide:
    def __init__(self, server: Any, ca: Path, key: str) -> None:
        self._server, self._phone = server, Phone()
        keys = self._phone.subscription("")["keys"]
        self.options = {
            "endpoint": f"https://127.0.0.1:{server.port}/{SECRET}", **keys, "key": key,
            "contact": "mailto:keeper@example.org", "test_ca": str(ca),
        }  # fmt: skip

    def got(self) -> list[tuple[str, str, str]]:
        shown = [json.loads(self._phone.read(r.body))["notification"] for r in self._server.requests]
        return [(one["tag"], one["title"], one["body"]) for one in shown]

    def refuse(self) -> None:
        self._server.status = 500


class BrokerSide:
    def __init__(self, port: int, heard: list[tuple[str, bytes, bool]]) -> None:
        self._heard = heard
        self.options: dict[str, Any] = {"host": "127.0.0.1", "port": port, "user": "collector", "password": SECRET}

    def got(self) -> list[tuple[str, str, str]]:
        wait_until(lambda: self._heard)
        events = [json.loads(payload) for topic, payload, _ in self._heard if topic == "rindwatch/-/event"]
        return [(one["id"], one["title"], one["body"]) for one in events]

    def refuse(self) -> None:
        self.options["port"] = unused_port()


@contextlib.contextmanager
def other_side(kind: str, folder: Path) -> Iterator[Other]:
    """A real server of a kind."""
    if kind == "apprise":
        with mail_server() as mail:
            yield MailSide(mail)
    elif kind == "webhook":
        with web_server() as web:
            yield HookSide(web)
    elif kind == "push":
        pair = certificate(folder)
        with web_server(pair) as web:
            web.status = 201
            yield PushSide(web, pair[0], private_key(Settings(data=folder)))
    else:
        if PROGRAM is None:
            assert os.environ.get("CI") != "true", "no Mosquitto: apt-get install mosquitto"
            pytest.skip("no Mosquitto on this machine")
        with mosquitto(folder) as port, listener(port, "rindwatch/-/#") as heard:
            yield BrokerSide(port, heard)


KINDS = ["apprise", "webhook", "push", pytest.param("mqtt", marks=pytest.mark.mosquitto)]
HOW: dict[str, Callable[[str, dict[str, Any]], Channel]] = {
    "here": lambda kind, options: MAKERS[kind]("mine", options),
    "child": lambda kind, options: ChildChannel(kind, "mine", options),
}


@pytest.fixture(params=KINDS)
def other(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[tuple[str, Other]]:
    with other_side(request.param, tmp_path) as side:
        yield request.param, side


@pytest.fixture(params=sorted(HOW))
def make(request: pytest.FixtureRequest) -> Callable[[str, dict[str, Any]], Channel]:
    return HOW[request.param]


def test_a_message_arrives_whole(other: tuple[str, Other], make: Callable[..., Channel]) -> None:
    kind, side = other
    make(kind, side.options).send(a_message())
    [(own_id, title, body)] = side.got()
    assert own_id == a_message().id
    assert title == "Lower fridge: too warm"
    assert "14.8 °C over the last hour." in body


def test_a_message_sent_twice_can_be_told_to_be_one(other: tuple[str, Other]) -> None:
    kind, side = other
    for _ in range(2):
        MAKERS[kind]("mine", side.options).send(a_message())
    ids = [own_id for own_id, _, _ in side.got()]
    assert len(set(ids)) == 1
    MAKERS[kind]("mine", side.options).send(a_message(id="01957a3c-0000-7000-8000-000000000002"))
    wait_until(lambda: len({own_id for own_id, _, _ in side.got()}) == 2)


def test_a_refusal_is_told_without_a_secret(other: tuple[str, Other], make: Callable[..., Channel]) -> None:
    kind, side = other
    side.refuse()
    with pytest.raises(WarningNotSent) as caught:
        make(kind, side.options).send(a_message())
    assert caught.value.retry
    assert not caught.value.gone
    assert SECRET not in str(caught.value)
    assert caught.value.channel == "mine"


def test_nobody_there_is_told_without_a_secret(other: tuple[str, Other]) -> None:
    kind, side = other
    nobody = unused_port()
    text = json.dumps(side.options)
    moved = json.loads(text.replace(f"127.0.0.1:{_port(text)}", f"127.0.0.1:{nobody}"))
    if kind == "mqtt":
        moved["port"] = nobody
    with pytest.raises(WarningNotSent) as caught:
        MAKERS[kind]("mine", moved).send(a_message())
    assert caught.value.retry
    assert SECRET not in str(caught.value)


def _port(text: str) -> str:
    return text.partition("127.0.0.1:")[2].partition("/")[0]


def test_the_fake_of_other_tests_keeps_the_contract() -> None:
    kept = Kept()
    kept.send(a_message())
    assert kept.messages == [a_message()]
    kept.refusal = WarningNotSent("mine", "no")
    with pytest.raises(WarningNotSent):
        kept.send(a_message())


def test_a_message_survives_json() -> None:
    whole = a_message(problems=({"rule": "too_warm", "facts": {"last": 14.8}},), thread="x")
    assert Message.from_json(json.loads(json.dumps(whole.as_json()))) == whole


def test_half_a_message_is_refused() -> None:
    with pytest.raises(ValueError, match="a message needs body, "):
        Message.from_json({"id": "1", "title": "x"})
