"""Endless topics: the embedded broker's memory has a ceiling, and the house goes on above it."""

import asyncio
import logging
import os
import signal
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from collector.intake import ceiling
from collector.prepare import prepare
from collector.settings import Settings
from collector.supervisor import Part, running
from tests.brokers import Broker, answers, wait_for

# A process of its own with a ceiling that a test can reach.
LOW = "import sys; from collector.intake import embedded; embedded.MOST_MB = {most}; embedded.run(embedded.Settings())"
SYSTEM = Path("/proc/self/statm").exists()
needs_proc = pytest.mark.skipif(not SYSTEM, reason="this system does not tell what a process holds in memory")


@needs_proc
def test_memory_is_what_the_system_says():
    field = next(line for line in Path("/proc/self/status").read_text().splitlines() if line.startswith("VmRSS"))
    held = ceiling.resident_mb()
    assert held is not None
    assert held == pytest.approx(int(field.split()[1]) * 1_024 / 1e6, rel=0.1)


@needs_proc
def test_a_broker_filled_with_topics_begins_anew_and_takes_readings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    prepare(Settings(data=tmp_path))
    broker = Broker("embedded", tmp_path)
    for name, value in broker.environment.items():
        monkeypatch.setenv(name, value)
    part = Part("broker", ["-c", LOW.format(most=58)])
    with running([part]):
        wait_for(lambda: answers(broker.port), what="the broker answers")
        first = part.process
        assert first is not None
        _shout(broker, first)
        assert first.wait(20) == -signal.SIGTERM
        wait_for(
            lambda: part.look_after() or (part.process is not None and answers(broker.port)), 20, "it answers again"
        )
        client = broker.a_client("calm")
        client.publish("rindwatch/calm/readings", b'[{"n":"temperature","v":12,"u":"Cel"}]', qos=1).wait_for_publish(10)
        client.disconnect()
        client.loop_stop()


def _shout(broker: Broker, process: subprocess.Popen[bytes]) -> None:
    """New topics without end, as long as the broker lives."""
    client, number = broker.a_client("loud"), 0
    while process.poll() is None:
        assert number < 400_000, "the broker holds endless topics"
        info = client.publish(f"rindwatch/h{number}/readings", b"[]", qos=1)
        number += 1
        if number % 500 == 0 and process.poll() is None:
            wait_for(lambda info=info: info.is_published() or process.poll() is not None, 20, "the broker takes them")
    client.disconnect()
    client.loop_stop()


def test_where_the_system_tells_nothing_the_broker_runs_on(caplog: pytest.LogCaptureFixture, monkeypatch):
    monkeypatch.setattr(ceiling, "resident_mb", lambda: None)
    with caplog.at_level(logging.INFO, ceiling.__name__):
        # In a thread of its own: a browser's tests leave a loop running in this one.
        thread = threading.Thread(target=lambda: asyncio.run(ceiling.end_when_full(1)))
        thread.start()
        thread.join(10)
    assert "broker_memory_unknown" in caplog.text


@needs_proc
def test_the_log_says_why_it_ended(tmp_path: Path):
    prepare(Settings(data=tmp_path))
    broker = Broker("embedded", tmp_path)
    command = [sys.executable, "-c", "import logging; logging.basicConfig(level='INFO'); " + LOW.format(most=1)]
    ended = subprocess.run(command, env=os.environ | broker.environment, capture_output=True, text=True, timeout=60)
    assert ended.returncode == -signal.SIGTERM
    assert "broker_full" in ended.stderr
