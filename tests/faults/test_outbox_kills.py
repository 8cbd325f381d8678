"""Kill -9 between opening, sending and committing: each warning arrives, and twice only where it cannot be helped."""

import json
import os
import random
import signal
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest
from sqlalchemy import Engine, select

from collector.notify.channels import add_channel
from collector.records.engine import open_records
from collector.records.tables import outbox, outbox_part, warning
from tests.collector.notify.builders import NOON
from tests.collector.notify.servers import mail_server, web_server
from tests.collector.records_fixtures import empty_records, records_path

__all__ = ["empty_records", "records_path"]

STEPS = ("opening", "opened", "claimed", "answered", "sent")
KILLS = int(os.environ.get("RINDWATCH_TEST_KILLS", "5"))
TWICE = ("answered",)  # killed between the other side's answer and our commit


@pytest.fixture
def records(records_path: Path) -> Iterator[Engine]:
    engine = open_records(f"sqlite:///{records_path}")
    yield engine
    engine.dispose()


def run(path: Path, step: str) -> int:
    command = [sys.executable, "-m", "tests.faults.outbox_program", str(path), step]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120, check=False)
    print(done.stderr)  # a sender that could not start says why, where the test fails
    return done.returncode


def killed_then_finished(path: Path, step: str) -> None:
    assert run(path, step) == -signal.SIGKILL
    assert run(path, "finish") == 0


@pytest.mark.parametrize("step", STEPS)
def test_a_webhook_gets_each_warning_though_the_sender_is_killed(
    records: Engine, records_path: Path, step: str
) -> None:
    with web_server() as server:
        with records.begin() as connection:
            add_channel(connection, "webhook", "hook", {"url": f"http://127.0.0.1:{server.port}/"}, NOON)
        killed_then_finished(records_path, step)
        ids = [request.headers["webhook-id"] for request in server.requests]
    assert len(ids) == (2 if step in TWICE else 1)
    assert len(set(ids)) == 1
    with records.connect() as connection:
        assert connection.execute(select(warning.c.id)).fetchall() != []
        [row] = connection.execute(select(outbox)).all()
    assert row.sent_at is not None


@pytest.mark.parametrize("step", ["claimed", "answered"])
def test_an_e_mail_sent_twice_carries_one_message_id(records: Engine, records_path: Path, step: str) -> None:
    with mail_server() as server:
        url = f"mailto://127.0.0.1:{server.port}/?from=cave@example.org&to=keeper@example.org&mode=insecure"
        with records.begin() as connection:
            add_channel(connection, "apprise", "mail", {"url": url}, NOON)
        killed_then_finished(records_path, step)
        ids = [str(mail["Message-ID"]) for mail in server.mails]
    assert len(ids) == (2 if step in TWICE else 1)
    assert len(set(ids)) == 1


def test_what_was_killed_before_its_commit_left_nothing(records: Engine, records_path: Path) -> None:
    with web_server() as server:
        with records.begin() as connection:
            add_channel(connection, "webhook", "hook", {"url": f"http://127.0.0.1:{server.port}/"}, NOON)
        assert run(records_path, "opening") == -signal.SIGKILL
        with records.connect() as connection:
            assert connection.execute(select(warning.c.id)).all() == []
            assert connection.execute(select(outbox.c.id)).all() == []


def test_a_sender_killed_at_random_loses_nothing_and_doubles_at_most_once_a_kill(
    records: Engine, records_path: Path
) -> None:
    kills, chance = KILLS, random.Random(20260312)
    with web_server() as server:
        with records.begin() as connection:
            add_channel(connection, "webhook", "hook", {"url": f"http://127.0.0.1:{server.port}/"}, NOON, least="warn")
        for _ in range(kills):
            _storm_until_killed(records_path, chance.uniform(0.1, 0.4), server.requests)
        assert run(records_path, "finish") == 0
        told = Counter(request.headers["webhook-id"] for request in server.requests)
        heard_of = {problem["id"] for r in server.requests for problem in json.loads(r.body)["problems"]}
    with records.connect() as connection:
        found = set(connection.execute(select(warning.c.id)).scalars())
        written = set(connection.execute(select(outbox_part.c.warning_id)).scalars())
        ended = select(outbox.c.id, outbox.c.trouble).where(outbox.c.given_up_at.is_not(None))
        given_up = connection.execute(ended).all()
    assert given_up == []
    assert len(found) > kills
    assert written == found
    assert found - heard_of == set()
    assert sum(told.values()) - len(told) <= kills


def _storm_until_killed(path: Path, after_s: float, requests: Sequence[object]) -> None:
    """Let it run until it has begun to send, and a while longer."""
    command = [sys.executable, "-m", "tests.faults.outbox_program", str(path), "storm"]
    before, deadline = len(requests), time.monotonic() + 30
    process = subprocess.Popen(command)
    while len(requests) == before and process.poll() is None and time.monotonic() < deadline:
        time.sleep(0.01)
    time.sleep(after_s)
    assert process.poll() is None
    process.kill()
    process.wait(10)
