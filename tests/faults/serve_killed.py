"""SIGKILL of what `rindwatch serve` runs, part by part or all at once, while a probe sends."""

import os
import random
import signal
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from collector.settings import Settings
from tests.brokers import wait_for
from tests.faults.conftest import kept
from tests.faults.outcome import Outcome
from tests.faults.served import Served, alive
from tests.faults.steady_probe import SteadyProbe, until

PARTS = ("collector", "dashboard", "broker")


def parts_killed(folder: Path, rounds: int) -> list[Outcome]:
    """Kill each part in turn, in every round; the supervisor starts it again with growing waits."""
    served, probe = _begun(folder)
    outcomes = {name: Outcome(f"SIGKILL of the {name}") for name in PARTS}
    chance = random.Random(11)
    try:
        for _ in range(rounds):
            for name in PARTS:
                _strike(outcomes[name], folder, probe, lambda name=name: _kill(served.part(name)))
                time.sleep(chance.uniform(0, 0.3))
            wait_for(lambda: all(served.part(name) for name in PARTS), 60, "every part back")
        _settle(list(outcomes.values()), folder, probe)
    finally:
        probe.close()
        served.end()
    return list(outcomes.values())


def everything_killed(folder: Path, rounds: int) -> list[Outcome]:
    """Kill the supervisor alone, or it and all parts at once, by turns; then start it again as systemd would."""
    served, probe = _begun(folder)
    alone, all_of_it = Outcome("SIGKILL of the supervisor"), Outcome("SIGKILL of all at once")
    try:
        for number in range(rounds):
            parts = [served.part(name) for name in PARTS]
            both = [served.process.pid, *parts] if number % 2 == 0 else [served.process.pid]

            def strike(both: list[int | None] = both, parts: list[int | None] = parts) -> None:
                for process in both:
                    _kill(process)
                served.process.wait()
                wait_for(lambda: not any(alive(p) for p in parts if p), 30, "no part left behind")
                served.start()

            _strike(all_of_it if number % 2 == 0 else alone, folder, probe, strike)
        _settle([alone, all_of_it], folder, probe)
    finally:
        probe.close()
        served.end()
    return [alone, all_of_it]


def _begun(folder: Path) -> tuple[Served, SteadyProbe]:
    served = Served(folder)
    wait_for(served.up, 120, "everything up")
    probe = SteadyProbe(served.mqtt, Settings(data=folder).secret("probe-password").get_secret_value())
    probe.start()
    wait_for(lambda: bool(kept(folder, "steady")), 60, "the first reading stored")
    return served, probe


def _strike(outcome: Outcome, folder: Path, probe: SteadyProbe, strike: Callable[[], None]) -> None:
    """Strike, and see how long until a reading that was sent afterwards is stored."""
    stored = {value for _, value in kept(folder, "steady")}
    began = time.monotonic()
    strike()
    mark = float(probe.sent)
    until(lambda: any(value >= mark for _, value in kept(folder, "steady")))
    outcome.times += 1
    outcome.recovered_s.append(time.monotonic() - began)
    # What the store had taken, and the broker had therefore been told, is still there.
    outcome.lost += len(stored - {value for _, value in kept(folder, "steady")})


def _kill(process: int | None) -> None:
    assert process is not None
    with suppress(ProcessLookupError):
        os.kill(process, signal.SIGKILL)


def _settle(outcomes: list[Outcome], folder: Path, probe: SteadyProbe) -> None:
    """Once all is acknowledged and has come in: what went with a broker's queue, and what is there twice."""
    probe.rest()
    until(lambda: len(probe.acknowledged) == probe.sent)
    time.sleep(1.0)
    values = [value for _, value in kept(folder, "steady")]
    missing = probe.sent - len(set(values))
    for outcome in outcomes:
        outcome.sent, outcome.doubled = probe.sent, len(values) - len(set(values))
        if "broker" in outcome.fault or "all at once" in outcome.fault or "supervisor" in outcome.fault:
            outcome.with_broker, missing = missing, 0
    outcomes[0].lost += missing  # nothing whose kill could have cost the broker its queue
