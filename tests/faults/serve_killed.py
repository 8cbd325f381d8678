"""SIGKILL of what `rindwatch serve` runs, part by part or all at once, while a probe sends."""

import os
import random
import signal
import time
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path

from collector.prepare import prepare
from collector.settings import Settings
from tests.brokers import Broker, wait_for
from tests.faults.conftest import CollectorProcess, kept, newest
from tests.faults.outcome import Outcome
from tests.faults.served import Served, alive
from tests.faults.steady_probe import SteadyProbe, until

PARTS = ("collector", "dashboard", "broker")
WITH_BROKER = ("embedded broker", "Mosquitto", "supervisor", "all at once")  # kills that take a broker's queue along


@dataclass
class Struck:
    """A folder that is written to, its probe, and which kill each missing reading belongs to."""

    folder: Path
    probe: SteadyProbe
    strikes: list[tuple[float, Outcome]] = field(default_factory=list)

    def strike(self, outcome: Outcome, blow: Callable[[], None]) -> None:
        """Strike, and see how long until a reading that was sent afterwards is stored."""
        stored = {value for _, value in kept(self.folder, "steady")}
        began = time.monotonic()
        self.strikes.append((max(stored), outcome))
        blow()
        mark = float(self.probe.sent)
        until(lambda: newest(self.folder, "steady") >= mark)
        outcome.times += 1
        outcome.recovered_s.append(time.monotonic() - began)
        # What the store had taken, and the broker had therefore been told, is still there.
        outcome.lost += len(stored - {value for _, value in kept(self.folder, "steady")})

    def settle(self) -> None:
        """Once all is acknowledged and has come in: what each kill cost, and what is there twice."""
        self.probe.rest()
        until(lambda: len(self.probe.acknowledged) == self.probe.sent)
        until(lambda: newest(self.folder, "steady") == self.probe.sent - 1)
        found = Counter(value for _, value in kept(self.folder, "steady"))
        for number in range(self.probe.sent):
            outcome = self._blamed(number)
            outcome.sent += 1
            outcome.doubled += max(0, found[number] - 1)
            if number not in found and outcome.fault.removeprefix("SIGKILL of ").removeprefix("the ") in WITH_BROKER:
                outcome.with_broker += 1
            elif number not in found:
                outcome.lost += 1

    def _blamed(self, number: int) -> Outcome:
        """The last kill before which it was not stored."""
        earlier = [outcome for stored, outcome in self.strikes if stored < number]
        return earlier[-1] if earlier else self.strikes[0][1]


def parts_killed(folder: Path, rounds: int) -> list[Outcome]:
    """Kill each part in turn, in every round; the supervisor starts it again, and the others go on."""
    outcomes = {name: Outcome(f"SIGKILL of the {'embedded ' * (name == 'broker')}{name}") for name in PARTS}
    chance = random.Random(11)
    with _served(folder) as (served, house):
        for _ in range(rounds):
            for name in PARTS:
                before = _parts(served)
                house.strike(outcomes[name], lambda: _kill([before[name]]))  # noqa: B023
                wait_for(lambda: all(_parts(served).values()), 60, "every part back")
                after = _parts(served)
                assert [part for part in PARTS if before[part] != after[part]] == [name]
                time.sleep(chance.uniform(0, 0.3))
        house.settle()
    return list(outcomes.values())


def everything_killed(folder: Path, rounds: int) -> list[Outcome]:
    """Kill the supervisor alone, and it and all parts at once, by turns; then start it again as systemd would."""
    alone, all_of_it = Outcome("SIGKILL of the supervisor"), Outcome("SIGKILL of all at once")
    with _served(folder) as (served, house):
        for _ in range(rounds):
            for outcome in (alone, all_of_it):
                wait_for(lambda: all(_parts(served).values()), 60, "every part there")
                house.strike(outcome, lambda: _kill_and_start(served, with_parts=outcome is all_of_it))  # noqa: B023
        house.settle()
    return [alone, all_of_it]


def mosquitto_killed(folder: Path, rounds: int) -> list[Outcome]:
    """Mosquitto as compose.yaml has it: kill it and the collector beside it by turns, and start it again."""
    collector_killed, broker_killed = Outcome("SIGKILL of the collector, Mosquitto"), Outcome("SIGKILL of Mosquitto")
    prepare(Settings(data=folder))
    broker = Broker("mosquitto", folder)
    broker.start()
    collector = CollectorProcess(broker)
    try:
        collector.start()
        collector.wait_connected()
        with _struck(folder, SteadyProbe(broker.port, None)) as house:
            for _ in range(rounds):
                for outcome, part in ((collector_killed, collector), (broker_killed, broker)):
                    house.strike(outcome, lambda: _kill_and_start_again(part))  # noqa: B023
            house.settle()
    finally:
        collector.kill()
        broker.stop()
    return [collector_killed, broker_killed]


@contextmanager
def _served(folder: Path) -> Iterator[tuple[Served, Struck]]:
    served = Served(folder, "tests.faults.served_program")
    try:
        wait_for(served.up, 120, "everything up")
        password = Settings(data=folder).secret("probe-password").get_secret_value()
        with _struck(folder, SteadyProbe(served.mqtt, password)) as house:
            yield served, house
    finally:
        served.end()


@contextmanager
def _struck(folder: Path, probe: SteadyProbe) -> Iterator[Struck]:
    probe.start()
    try:
        wait_for(lambda: bool(kept(folder, "steady")), 60, "the first reading stored")
        yield Struck(folder, probe)
    finally:
        probe.close()


def _parts(served: Served) -> dict[str, int | None]:
    return {name: served.part(name) for name in PARTS}


def _kill_and_start(served: Served, with_parts: bool) -> None:
    parts = list(_parts(served).values())
    _kill([served.process.pid, *(parts if with_parts else [])])
    served.process.wait()
    wait_for(lambda: not any(alive(part) for part in parts if part), 30, "no part left behind")
    served.start()


def _kill_and_start_again(part: Broker | CollectorProcess) -> None:
    part.kill()
    part.start()


def _kill(processes: Sequence[int | None]) -> None:
    for process in processes:
        assert process is not None
        with suppress(ProcessLookupError):
            os.kill(process, signal.SIGKILL)
