"""An honest probe beside a crowd at every port of the house: the whole chain as it is run, from wire to store."""

import os
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from statistics import median

from paho.mqtt.client import Client
from paho.mqtt.enums import CallbackAPIVersion

from collector.intake.address import PROBE_USER
from collector.intake.payloads import PackRecord, encode_senml
from collector.settings import Settings
from tests.brokers import answers, free_port, wait_for
from tests.composed_broker import COLLECTOR_PASSWORD, PROBE_PASSWORD, composed
from tests.faults.conftest import kept
from tests.faults.steady_probe import until
from tests.hostile.crowd import Crowd, at_broker, at_pages

EARLY, LATE = "cellar-1", "cellar-2"  # one is in before the crowd comes, one has to come in through it
PATIENCE_S = 40.0  # for the late one


@dataclass(frozen=True, slots=True)
class House:
    """What runs: where probes and browsers knock, and with what a probe signs in."""

    kind: str
    folder: Path
    mqtt: int
    http: int
    login: Callable[[str], tuple[str, str]]

    def probe(self, name: str) -> Client:
        """A probe that sends again what was not acknowledged, and comes back by itself."""
        client = Client(CallbackAPIVersion.VERSION2, client_id=name, clean_session=False)
        client.username_pw_set(*self.login(name))
        client.reconnect_delay_set(1, 1)
        client.connect_async("127.0.0.1", self.mqtt, keepalive=10)
        client.loop_start()
        return client


@contextmanager
def serving(folder: Path, kind: str) -> Iterator[House]:
    """`rindwatch serve` with the embedded broker, or with Mosquitto as compose.yaml's container has it."""
    data, http = folder / "data", free_port()
    settings = {"RINDWATCH_DATA": str(data), "RINDWATCH_LISTEN": "127.0.0.1", "RINDWATCH_HTTP_PORT": str(http)}
    settings["RINDWATCH_HTTPS_PORT"] = str(free_port())
    with ExitStack() as stack:
        if kind == "embedded":
            mqtt = free_port()
            settings["RINDWATCH_MQTT_PORT"] = str(mqtt)
        else:
            broker = stack.enter_context(composed(folder, (EARLY, LATE)))
            mqtt = broker.outside
            secret = folder / "broker-password"
            secret.write_text(COLLECTOR_PASSWORD)
            settings |= {"RINDWATCH_BROKER": f"127.0.0.1:{broker.inside}", "RINDWATCH_BROKER_USER": "collector"}
            settings["RINDWATCH_BROKER_PASSWORD_FILE"] = str(secret)
        log = stack.enter_context((folder / "serve.log").open("wb"))
        command = [sys.executable, "-m", "collector.cli", "serve"]
        process = subprocess.Popen(command, env=os.environ | settings, stdout=log, stderr=log)
        try:
            wait_for(lambda: answers(mqtt) and answers(http), 60, "serve")

            def login(name: str) -> tuple[str, str]:
                if kind == "mosquitto":
                    return name, PROBE_PASSWORD
                return PROBE_USER, Settings(data=data).secret("probe-password").get_secret_value()

            yield House(kind, data, mqtt, http, login)
        finally:
            process.terminate()
            process.wait(30)


@dataclass(frozen=True, slots=True)
class Crowded:
    """What a crowd did. `delays_s`: of the honest readings until stored; `came_in_s`: how long the late probe took."""

    kind: str
    many: int
    opened: Sequence[int]
    calm_s: Sequence[float]
    delays_s: Sequence[float]
    came_in_s: float
    came_in_through_it: bool
    lost: int

    def said(self) -> str:
        return (
            f"{self.kind}: a crowd of {self.many} each at broker and pages "
            f"(opened {self.opened[0]} and {self.opened[1]} times); "
            f"honest readings {len(self.delays_s)}, lost {self.lost}, stored after {median(self.delays_s):.2f} s, "
            f"at worst {max(self.delays_s):.2f} s (alone {median(self.calm_s):.2f} and {max(self.calm_s):.2f} s); "
            f"a probe that came while they stood was in and stored after {self.came_in_s:.1f} s"
            f"{'' if self.came_in_through_it else ', once they had gone'}"
        )


class Speaker:
    """Speaks as one probe, and waits until it is stored."""

    def __init__(self, house: House, name: str) -> None:
        self.house, self.name, self.sent = house, name, 0
        self.client = house.probe(name)
        self._start_s = int(time.time()) - 80_000

    def once(self) -> float:
        """Seconds until the next reading was stored."""
        self.sent += 1
        number = float(self.sent)
        record = PackRecord("temperature", number, "Cel")
        payload = encode_senml([record], base_time_s=self._start_s + self.sent)
        self.client.publish(f"rindwatch/{self.name}/readings", payload, qos=1)
        return until(lambda: number in self.stored())

    def stored(self) -> set[float]:
        return {value for _, value in kept(self.house.folder, self.name)}

    def close(self) -> None:
        self.client.disconnect()
        self.client.loop_stop()


def crowd_in(house: House, many: int, lasting_s: float) -> Crowded:
    """Let a crowd stand at broker and pages for a while, and hold what that does to two probes."""
    early = Speaker(house, EARLY)
    calm_s = [early.once() for _ in range(5)][1:]  # the first waits for the house to be up
    with at_broker(house.mqtt, many) as wires, at_pages(house.http, many) as browsers:
        stand(wires, many)
        stand(browsers, many)
        late, came_in_s = Speaker(house, LATE), list[float]()
        coming = threading.Thread(target=lambda: came_in_s.append(late.once()))
        coming.start()
        delays_s, until_s = list[float](), time.monotonic() + lasting_s
        while time.monotonic() < until_s:
            delays_s.append(early.once())
            time.sleep(0.1)
        coming.join(PATIENCE_S)
        came_in_through_it = not coming.is_alive()
    coming.join()
    lost = sum(speaker.sent - len(speaker.stored()) for speaker in (early, late))
    for speaker in (early, late):
        speaker.close()
    opened = [wires.opened, browsers.opened]
    return Crowded(house.kind, many, opened, calm_s, delays_s, came_in_s[0], came_in_through_it, lost)


def stand(crowd: Crowd, many: int) -> None:
    """Wait until it has knocked as often as it is large."""
    wait_for(lambda: crowd.opened >= many, 60, f"{many} have knocked")
