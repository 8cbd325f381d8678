"""The sender's own process: ended when it takes too long, and nothing of what it prints is believed or shown."""

import sys
import time

import pytest

from collector.errors import WarningNotSent
from collector.notify import child
from collector.notify.child import ChildChannel
from tests.collector.notify.servers import mail_server, silent_server
from tests.collector.notify.test_channel_contract import SECRET, a_message


def test_a_mail_server_that_never_speaks_is_left_at_the_deadline() -> None:
    with silent_server() as port:
        url = f"mailto://{SECRET}@127.0.0.1:{port}/?from=a@example.org&to=b@example.org&mode=insecure"
        began = time.monotonic()
        with pytest.raises(WarningNotSent, match="no answer within 2 s") as caught:
            ChildChannel("apprise", "mail", {"url": url}, deadline_s=2).send(a_message())
        assert time.monotonic() - began < 10
    assert caught.value.retry
    assert SECRET not in str(caught.value)


@pytest.mark.parametrize(
    "program",
    [
        "raise SystemExit(3)",
        "print('not json')",
        "print('[]')",
        f"import sys; sys.stderr.write('{SECRET}'); print('{{\"sent\": \"yes\"}}')",
    ],
)
def test_a_sender_that_ends_oddly_counts_as_not_sent(monkeypatch: pytest.MonkeyPatch, program: str) -> None:
    monkeypatch.setattr(child, "COMMAND", (sys.executable, "-c", program))
    with pytest.raises(WarningNotSent, match="ended without an answer") as caught:
        ChildChannel("webhook", "hook", {}).send(a_message())
    assert caught.value.retry
    assert SECRET not in str(caught.value)


def test_a_sender_that_cannot_start_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(child, "COMMAND", ("/nowhere/python",))
    with pytest.raises(WarningNotSent, match="the sender did not start: No such file"):
        ChildChannel("webhook", "hook", {}).send(a_message())


def test_secrets_do_not_stand_in_the_list_of_processes(monkeypatch: pytest.MonkeyPatch) -> None:
    assert SECRET not in " ".join(child.COMMAND)
    with mail_server() as server:
        url = f"mailto://127.0.0.1:{server.port}/?from=a@example.org&to=b@example.org&mode=insecure"
        ChildChannel("apprise", "mail", {"url": url}).send(a_message())
        assert len(server.mails) == 1
