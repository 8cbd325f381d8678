"""The real node program against a real Mosquitto, over a network that breaks and a power that fails.

Its encoder, flash buffer and MQTT client run as they are; time is simulated, so that days pass in
seconds. Every reading that reached flash must arrive, once, with its time right.
"""

import random
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pytest

from firmware_notes.node import keep
from firmware_notes.node.main import Probe
from tests.firmware_notes.end_to_end.broker import Broker, make_certificates, mosquitto, mosquitto_path
from tests.firmware_notes.end_to_end.house import House
from tests.firmware_notes.end_to_end.proxy import Proxy
from tests.firmware_notes.end_to_end.receiver import Receiver
from tests.firmware_notes.end_to_end.world import Asleep, PowerCut, World
from tests.firmware_notes.test_micropython import missing

pytestmark = pytest.mark.mosquitto

RIGHT_S = 5  # "its time right to a few seconds"
ROUNDS = 300
LEARNING_ROUNDS = 90
HOME_ROUNDS = 400  # more than any backlog and any waiting for a batch takes
SPELL_S = (300, 3600, 10_800)  # how long the network stays away


@pytest.fixture(scope="module")
def broker(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Broker]:
    if mosquitto_path() is None:
        missing("Mosquitto is not installed: apt-get install mosquitto")
    with mosquitto(tmp_path_factory.mktemp("broker")) as running:
        yield running


@dataclass(frozen=True, slots=True)
class Scene:
    """A probe in its world, and who listens at the other end."""

    world: World
    receiver: Receiver
    house: House

    def catch_up(self) -> None:
        """Returns once both listeners have taken what the broker had by now."""
        self.receiver.catch_up()
        self.house.caught_up()


@contextmanager
def a_scene(broker: Broker, folder: Path, seed: int, **changed: Any) -> Iterator[Scene]:
    proxy = Proxy(broker.port)
    world = World(proxy, broker, folder, random.Random(seed), PROBE=f"lower-fridge-{seed}", **changed)
    receiver, house = Receiver(broker, world), House(broker, world, folder)
    try:
        with world.flash():
            yield Scene(world, receiver, house)
    finally:
        receiver.close()
        house.close()
        proxy.close()


def note_kept(world: World, probe: Any) -> None:
    """From when `add` returns, a reading is the buffer's to keep."""
    add = probe.keep.add

    def noting(kind: int, payload: bytes) -> None:
        add(kind, payload)
        if kind == keep.MESSAGE and world.count in world.taken_at:
            world.kept.add(world.count)

    probe.keep.add = noting


def start(world: World) -> Any:
    """The program after power-on or restart; the power may go again while it starts."""
    while True:
        try:
            probe = Probe(world, world.settings)
        except PowerCut:
            world.goes_dark(1)
            continue
        note_kept(world, probe)
        return probe


def live(scene: Scene, rounds: int, trouble: float) -> None:
    """Rounds of the node program with whatever chance brings before each."""
    world, back_at = scene.world, 0.0
    probe = start(world)
    for _ in range(rounds):
        back_at = network(world, back_at, trouble)
        if world.chance.random() < trouble:
            world.fuse = world.chance.randrange(30)
        try:
            wait_s = probe.round()
            world.fuse = None
            scene.catch_up()
            probe.rest(wait_s)
        except Asleep:
            probe = start(world)
        except PowerCut:
            falls(scene)
            probe = start(world)


def falls(scene: Scene) -> None:
    """The watchdog bit, or the power was away for a while."""
    world = scene.world
    if world.chance.random() < 0.5:
        world.restarts()
    else:
        world.goes_dark(world.chance.choice([1, 30, 4000]))
    world.proxy.settle()
    scene.catch_up()


def network(world: World, back_at: float, trouble: float) -> float:
    """Takes the network away, brings it back, loses answers; returns when it comes back."""
    chance, proxy = world.chance, world.proxy
    if world.true >= back_at and not proxy.is_up:
        proxy.restore()
    if proxy.is_up and chance.random() < trouble / 12:
        proxy.cut()
        back_at = world.true + chance.choice(SPELL_S)
    # The broker's part of a TLS greeting takes some 1,500 bytes, an acknowledgement 26.
    proxy.answers_left = chance.choice([0, 10, 30, 60, 1500, 1700, 1750]) if chance.random() < trouble else None
    return back_at


def come_home(scene: Scene) -> None:
    """With the network back, whatever is still kept is sent."""
    world = scene.world
    world.proxy.restore()
    world.proxy.answers_left, world.fuse, world.time_answers = None, None, 1.0
    for _ in range(HOME_ROUNDS):
        live(scene, 1, 0.0)
        if not list(start(world).keep.pending()):
            break
    world.hang_up()
    world.proxy.settle()
    scene.catch_up()
    scene.house.close()


def judge(scene: Scene) -> None:
    """Everything there, once, at its time: as it came, and as the collector stored it."""
    world, receiver = scene.world, scene.receiver
    assert receiver.troubles == []
    numbers = [got.number for got in receiver.readings]
    assert len(numbers) == len(set(numbers)), "a reading came under two numbers"
    assert world.kept <= set(numbers), "a reading was lost"
    bounds = {got.number for got in receiver.readings if got.at_the_latest}
    came = [(got.number, got.taken_at, got.at_the_latest) for got in receiver.readings]
    stored = scene.house.stored(world.settings.PROBE)
    assert sorted(number for number, _, _ in stored) == sorted(numbers), "the store has lost or doubled one"
    assert {number for number, _, is_bound in stored if is_bound} == bounds
    for number, taken_at, _ in came + stored:
        late_s = taken_at - world.taken_at[number]
        assert late_s >= -RIGHT_S, (number, late_s)
        assert number in bounds or late_s <= RIGHT_S, (number, late_s)


@pytest.mark.parametrize("seed", [1, 2])
def test_on_mains_every_reading_arrives_once_at_its_time(broker: Broker, tmp_path: Path, seed: int) -> None:
    with a_scene(broker, tmp_path, seed) as scene:
        scene.world.drift = 50e-6
        live(scene, ROUNDS, 0.15)
        come_home(scene)
        judge(scene)
        assert scene.receiver.repeated > 0, "no answer was lost, so nothing was tried"
        assert len(scene.world.kept) > ROUNDS * 0.8


@pytest.mark.parametrize("seed", [4, 5])
def test_on_battery_every_reading_arrives_once_at_its_time(broker: Broker, tmp_path: Path, seed: int) -> None:
    changed = {"POWER": "battery", "SEND_EVERY": 10, "INTERVAL_S": 120}
    with a_scene(broker, tmp_path, seed, **changed) as scene:
        scene.world.drift = 0.008
        live(scene, LEARNING_ROUNDS, 0.0)  # Three hours in which the clock's pace shows.
        live(scene, ROUNDS, 0.15)
        come_home(scene)
        judge(scene)
        assert len(scene.world.kept) > ROUNDS * 0.8


def test_an_hour_without_network_and_no_time_server_at_all(broker: Broker, tmp_path: Path) -> None:
    with a_scene(broker, tmp_path, 7) as scene:
        world = scene.world
        world.time_answers = -1.0
        live(scene, 10, 0.0)
        world.proxy.cut()
        probe = start(world)
        for _ in range(60):
            probe.rest(probe.round())
        world.proxy.restore()
        live(scene, 10, 0.0)
        world.hang_up()
        world.proxy.settle()
        scene.catch_up()
        scene.house.close()
        judge(scene)
        assert len(world.kept) == 80
        assert all(got.relative for got in scene.receiver.readings)


def test_a_wrong_password_is_told_and_nothing_is_lost(
    broker: Broker, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with a_scene(broker, tmp_path, 8) as scene:
        right, scene.world.settings.BROKER_PASSWORD = scene.world.settings.BROKER_PASSWORD, "wrong"
        live(scene, 3, 0.0)
        assert "may not connect" in capsys.readouterr().out
        scene.world.settings.BROKER_PASSWORD = right
        come_home(scene)
        judge(scene)
        assert len(scene.world.kept) >= 4


def test_a_broker_with_a_strangers_certificate_gets_nothing(
    broker: Broker, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    stranger = tmp_path / "stranger"
    stranger.mkdir()
    make_certificates(stranger)
    with a_scene(broker, tmp_path, 9) as scene:
        scene.world.broker = replace(broker, ca_der=stranger / "ca.der")
        live(scene, 3, 0.0)
        assert "certificate" in capsys.readouterr().out.lower()
        assert scene.receiver.readings == []
        scene.world.broker = broker
        come_home(scene)
        judge(scene)


def test_the_last_will_tells_of_a_probe_that_went_dark(broker: Broker, tmp_path: Path) -> None:
    with a_scene(broker, tmp_path, 10) as scene:
        live(scene, 2, 0.0)
        scene.world.goes_dark(1)
        scene.world.proxy.settle()
        scene.catch_up()
        own = [said for said in scene.receiver.statuses if said.probe == scene.world.settings.PROBE]
        assert [said.status.state for said in own if said.status is not None] == ["online", "offline"]
        come_home(scene)
