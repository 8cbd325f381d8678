"""Debian's Mosquitto with the very configuration of compose.yaml: passwords, access, and a listener for each side."""

import shutil
import subprocess
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from paho.mqtt.client import Client
from paho.mqtt.enums import CallbackAPIVersion, MQTTProtocolVersion

from tests.brokers import MOSQUITTO, answers, free_port, need_mosquitto, wait_for

CONTAINER = Path(__file__).parent.parent / "collector/container"
COLLECTOR_PASSWORD, PROBE_PASSWORD = "c", "p"


@dataclass(frozen=True, slots=True)
class ComposedBroker:
    """`inside`: the collector's port; `outside`: the probes'."""

    inside: int
    outside: int
    process: subprocess.Popen[bytes]
    log: Path

    def collector(self) -> Client:
        return connected(self.inside, "collector", COLLECTOR_PASSWORD)

    def probe(self, name: str) -> Client:
        """A probe that is in; it speaks 3.1.1, as ours do."""
        client = connected(self.outside, name, PROBE_PASSWORD, protocol=MQTTProtocolVersion.MQTTv311)
        wait_for(client.is_connected, what=f"{name} is in")
        return client


@contextmanager
def composed(folder: Path, probes: Sequence[str] = ("cellar-1",)) -> Iterator[ComposedBroker]:
    """Run it; only the paths of the container and the ports are replaced."""
    need_mosquitto()
    passwords = folder / "passwords"
    tool = shutil.which("mosquitto_passwd") or "/usr/bin/mosquitto_passwd"
    subprocess.run([tool, "-c", "-b", passwords, "collector", COLLECTOR_PASSWORD], check=True)
    for name in probes:
        subprocess.run([tool, "-b", passwords, name, PROBE_PASSWORD], check=True)
    inside, outside = free_port(), free_port()
    config, log = folder / "mosquitto.conf", folder / "mosquitto.log"
    config.write_text(_with_our_places(folder, passwords, inside, outside))
    with log.open("wb") as out:
        process = subprocess.Popen([MOSQUITTO, "-c", config], stdout=out, stderr=out)
    try:
        wait_for(lambda: answers(inside) and answers(outside), what="mosquitto")
        yield ComposedBroker(inside, outside, process, log)
    finally:
        process.terminate()
        process.wait(10)


def _with_our_places(folder: Path, passwords: Path, inside: int, outside: int) -> str:
    text = (CONTAINER / "mosquitto.conf").read_text()
    for there, here in (
        ("listener 1883", f"listener {inside} 127.0.0.1"),
        ("listener 1884", f"listener {outside} 127.0.0.1"),
        ("/run/secrets/mosquitto_passwords", str(passwords)),
        ("/mosquitto/config/acl", str(CONTAINER / "acl")),
        ("/mosquitto/data/", f"{folder}/"),
    ):
        assert there in text
        text = text.replace(there, here)
    return text + "user root\n"


def connected(
    port: int, user: str, password: str, client_id: str = "", protocol: MQTTProtocolVersion = MQTTProtocolVersion.MQTTv5
) -> Client:
    """A client on its way to be connected."""
    client = Client(CallbackAPIVersion.VERSION2, client_id=client_id or user, protocol=protocol)
    client.username_pw_set(user, password)
    client.connect("127.0.0.1", port)
    client.loop_start()
    return client
