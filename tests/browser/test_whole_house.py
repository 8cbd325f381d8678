"""The whole house from its first start: broker, collector and pages as processes, a probe over real MQTT, a phone."""

import json
import os
import re
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from paho.mqtt.client import Client
from paho.mqtt.enums import CallbackAPIVersion
from playwright.sync_api import Page, expect

from tests.browser.walking import set_password

pytestmark = [pytest.mark.browser, pytest.mark.timeout(240)]
SOON_MS, LATER_MS = 20_000, 90_000
HOURS = 60  # of readings that the probe kept before it found the house


@dataclass(frozen=True, slots=True)
class WholeHouse:
    """What `rindwatch serve` said at its first start, and where its broker listens."""

    address: str
    link: str
    mqtt_port: int


def free_port() -> int:
    with socket.socket() as asking:
        asking.bind(("127.0.0.1", 0))
        return int(asking.getsockname()[1])


@pytest.fixture
def whole_house(tmp_path: Path) -> Iterator[WholeHouse]:
    port = free_port()
    environment = os.environ | {
        "RINDWATCH_DATA": str(tmp_path / "data"), "RINDWATCH_LISTEN": "127.0.0.1", "RINDWATCH_MQTT_PORT": str(port),
        "RINDWATCH_HTTP_PORT": "0", "RINDWATCH_HTTPS_PORT": "0", "RINDWATCH_LOG_LEVEL": "warning", "TZ": "UTC",
    }  # fmt: skip
    command = [sys.executable, "-m", "collector.cli", "serve"]
    with subprocess.Popen(command, env=environment, stdout=subprocess.PIPE, text=True) as process:
        try:
            assert process.stdout is not None
            said = iter(process.stdout)
            address = _next(said, r"The pages are at (http://\S+)")
            yield WholeHouse(address, _next(said, r"^\s*(http://\S+/first/\S+)").removeprefix(address), port)
        finally:
            process.send_signal(signal.SIGTERM)
            assert process.wait(30) == 0


def _next(said: Iterator[str], pattern: str) -> str:
    for line in said:
        if found := re.search(pattern, line):
            return found[1]
    raise AssertionError(f"the house ended before it said {pattern}")


def publish(house: WholeHouse, password: str, topic: str, payload: str) -> None:
    """Send one message as a probe does, and wait until the broker has it."""
    client = Client(CallbackAPIVersion.VERSION2, client_id="cellar-1")
    client.username_pw_set("probe", password)
    client.connect("127.0.0.1", house.mqtt_port)
    client.loop_start()
    client.publish(topic, payload, qos=1).wait_for_publish(20)
    client.disconnect()
    client.loop_stop()


def kept_readings() -> str:
    """What a probe kept for days, in one pack: air that is too dry for anything, six readings an hour."""
    now_s = int(time.time())
    records = [
        {"n": name, "u": unit, "v": value, "t": -600 * i}
        for i in range(6 * HOURS)
        for name, unit, value in (("temperature", "Cel", 11.5 + i % 5 / 50), ("humidity", "%RH", 70 + i % 7 / 10))
    ]
    return json.dumps([{"bn": "cellar-1/", "bt": now_s}, *records])


def test_from_the_first_start_to_a_warning_that_is_marked(phone: Callable[..., Page], whole_house: WholeHouse) -> None:
    page = phone(whole_house.address)
    set_password(page, whole_house.link)
    page.wait_for_url("**/begin")
    page.get_by_role("button", name="That is enough for now").click()

    # A probe is told where to send, and speaks; the page shows it by itself.
    page.goto("/probes")
    page.get_by_role("link", name="Connect a probe").click()
    page.get_by_label("Name of the probe").fill("cellar-1")
    page.get_by_role("button", name="Go on").click()
    expect(page.get_by_text("Waiting for the first message of cellar-1")).to_be_visible()
    expect(page.get_by_text(f"{whole_house.mqtt_port}", exact=True)).to_be_visible()
    page.get_by_text("Show the password").click()
    password = page.locator("details", has_text="Show the password").locator("code").inner_text()
    publish(whole_house, password, "rindwatch/cellar-1/readings", kept_readings())
    expect(page.get_by_text("cellar-1 was heard")).to_be_visible(timeout=SOON_MS)

    # It is placed in a new place, with a target by rind, from its first reading on.
    page.get_by_role("link", name="A new place, a surface, another date").click()
    page.get_by_text("A new place:").click()
    page.get_by_label("Name of the new place").fill("Upper cellar")
    page.get_by_label("What ages there").select_option("natural")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text("It measures in Upper cellar.")).to_be_visible()
    page.goto("/caves")
    expect(page.get_by_text("11.5 °C").first).to_be_visible(timeout=SOON_MS)

    # The watch finds what the air was like all the while; the warning is marked in one touch.
    page.goto("/warnings")
    expect(page.get_by_text("Upper cellar: too dry")).to_be_visible(timeout=LATER_MS)
    card = page.locator("section.card", has_text="Upper cellar: too dry")
    expect(card.get_by_text("Found late")).to_be_visible()
    card.get_by_role("button", name="Right").click()
    expect(page.get_by_text("Noted: it was right.")).to_be_visible()

    # Somebody reads a dial as well.
    page.goto("/targets")
    page.get_by_role("link", name="Settings of Upper cellar").click()
    page.get_by_role("link", name="Type a reading").click()
    page.get_by_label("Temperature").fill("12,5")
    page.get_by_label("Read from").fill("dial on the wall")
    page.get_by_role("button", name="Keep it").click()
    expect(page.get_by_text("Kept: 12.5 °C in Upper cellar.")).to_be_visible()
    page.goto("/probes")
    expect(page.get_by_text("dial on the wall, Upper cellar")).to_be_visible(timeout=LATER_MS)

    # The target is changed: from now on the place rests.
    page.goto("/targets")
    page.get_by_role("link", name="Upper cellar", exact=True).click()
    page.get_by_text("Resting: empty or being cleaned").click()
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("status").filter(has_text="Resting: nothing is asked")).to_be_visible()
