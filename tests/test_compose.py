"""compose.yaml: commands and settings that exist, and the broker run for real with that very configuration."""

import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from threading import Event

import pytest
import yaml
from paho.mqtt.client import Client
from paho.mqtt.enums import CallbackAPIVersion, MQTTProtocolVersion

from collector.cli import main
from collector.settings import Settings, names_of
from dashboard.settings import DashboardSettings
from tests.brokers import MOSQUITTO, answers, free_port, need_mosquitto, wait_for

ROOT = Path(__file__).parent.parent
COMPOSE = yaml.safe_load((ROOT / "compose.yaml").read_text())
OURS = [name for name, service in COMPOSE["services"].items() if service["image"].startswith("rindwatch")]


@pytest.mark.parametrize("name", OURS)
def test_every_command_and_setting_exists(name: str) -> None:
    service = COMPOSE["services"][name]
    assert service["command"][0] in main.commands
    assert set(service["environment"]) <= names_of(Settings) | names_of(DashboardSettings)


@pytest.mark.parametrize("name", list(COMPOSE["services"]))
def test_every_service_is_closed_up(name: str) -> None:
    service = COMPOSE["services"][name]
    assert service["read_only"] is True
    assert service["restart"] == "unless-stopped"
    assert service["cap_drop"] == ["ALL"]
    assert not service["user"].startswith("0")
    assert re.search(r":\d", service["image"]), "the image is pinned"
    assert "healthcheck" in service


def test_only_the_pages_and_the_broker_are_open() -> None:
    assert {name for name, service in COMPOSE["services"].items() if "ports" in service} == {"broker", "dashboard"}


@pytest.fixture
def broker_port(tmp_path: Path) -> Iterator[int]:
    """Debian's Mosquitto with the compose file's configuration; only the paths of the container are replaced."""
    need_mosquitto()
    passwords, port = tmp_path / "passwords", free_port()
    tool = shutil.which("mosquitto_passwd") or "/usr/bin/mosquitto_passwd"
    subprocess.run([tool, "-c", "-b", passwords, "collector", "c"], check=True)
    subprocess.run([tool, "-b", passwords, "cellar-1", "p"], check=True)
    text = (ROOT / "collector/container/mosquitto.conf").read_text()
    for inside, here in (
        ("listener 1883", f"listener {port} 127.0.0.1"),
        ("/run/secrets/mosquitto_passwords", str(passwords)),
        ("/mosquitto/config/acl", str(ROOT / "collector/container/acl")),
        ("/mosquitto/data/", f"{tmp_path}/"),
    ):
        assert inside in text
        text = text.replace(inside, here)
    config = tmp_path / "mosquitto.conf"
    config.write_text(text + "user root\n")
    process = subprocess.Popen([MOSQUITTO, "-c", config], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    wait_for(lambda: answers(port))
    yield port
    process.terminate()
    process.wait(10)


def connected(port: int, user: str, password: str) -> Client:
    client = Client(CallbackAPIVersion.VERSION2, client_id=user, protocol=MQTTProtocolVersion.MQTTv5)
    client.username_pw_set(user, password)
    client.connect("127.0.0.1", port)
    client.loop_start()
    return client


def test_a_probe_publishes_under_its_own_name_only(broker_port: int) -> None:
    heard: list[str] = []
    subscribed = Event()
    collector = connected(broker_port, "collector", "c")
    collector.on_message = lambda _client, _data, message: heard.append(message.topic)
    collector.on_subscribe = lambda *_: subscribed.set()
    collector.subscribe("#", qos=1)
    assert subscribed.wait(10)
    probe = connected(broker_port, "cellar-1", "p")
    for topic in ("rindwatch/cellar-2/readings", "elsewhere", "rindwatch/cellar-1/readings"):
        probe.publish(topic, b"1", qos=1)
    wait_for(lambda: "rindwatch/cellar-1/readings" in heard, what="the probe's own topic")
    assert heard == ["rindwatch/cellar-1/readings"]
    for client in (collector, probe):
        client.disconnect()
        client.loop_stop()


def test_nobody_gets_in_without_a_password(broker_port: int) -> None:
    client = connected(broker_port, "cellar-1", "wrong")
    refused = Event()
    client.on_disconnect = lambda *_: refused.set()
    assert refused.wait(10) or not client.is_connected()
    client.loop_stop()
