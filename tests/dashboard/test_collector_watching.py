"""The dashboard looks after the collector while it serves, and ends when it ends."""

import threading
from datetime import timedelta

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine

from collector.clock import ManualClock
from collector.notify.channels import add_channel
from collector.records.engine import reading
from collector.records.life import sign
from collector.records.warnings import warnings
from dashboard import collector_watching
from dashboard.app import Dashboard
from dashboard.collector_watching import CollectorWatching
from tests.collector.notify.servers import wait_until, web_server
from tests.dashboard.conftest import NOW_AT


def test_it_looks_again_after_a_look_that_failed() -> None:
    looks: list[int] = []

    def step() -> None:
        looks.append(1)
        if len(looks) == 1:
            raise OSError("the disk is full")

    watching = CollectorWatching(step, every_s=0.01)
    watching.start()
    wait_until(lambda: len(looks) > 2)
    assert watching.stop()
    seen = len(looks)
    assert not threading.Event().wait(0.05)
    assert len(looks) == seen


def test_a_step_that_hangs_does_not_hold_up_the_end(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(collector_watching, "GOODBYE_S", 0.05)
    begun, let_go = threading.Event(), threading.Event()

    def hang() -> None:
        begun.set()
        let_go.wait(30)

    watching = CollectorWatching(hang, every_s=0.0)
    watching.start()
    assert begun.wait(10)
    assert not watching.stop()
    let_go.set()


def test_a_silent_collector_is_told_of_while_the_dashboard_serves(
    app: Dashboard, engine: Engine, clock: ManualClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(collector_watching, "EVERY_S", 0.02)
    sign(engine, "collector", NOW_AT, {})
    with web_server() as server, TestClient(app):
        with engine.begin() as db:
            add_channel(db, "webhook", "hook", {"url": f"http://127.0.0.1:{server.port}/"}, NOW_AT)
        clock.advance(timedelta(minutes=6))
        wait_until(lambda: bool(server.requests), patience_s=30)
    assert b"the watch has stopped" in server.requests[0].body
    with reading(engine) as db:
        assert [one.rule for one in warnings(db, only_open=True)] == ["collector_silent"]
    assert "collector-watching" not in [thread.name for thread in threading.enumerate()]
