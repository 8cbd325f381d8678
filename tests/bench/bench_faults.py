"""The fault suite, long: what each fault cost, in the form of README's table.

Run as: RINDWATCH_TEST_KILLS=100 python -m tests.bench.bench_faults [WORD ...], a word choosing faults by name.
"""

import math
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import timedelta
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory

from collector.prepare import prepare
from collector.readings.store import SqliteReadings
from collector.settings import Settings
from tests.brokers import Broker
from tests.collector.backup.conftest import fill_folder
from tests.faults.arbitrary_payloads import arbitrary
from tests.faults.broker_restarted import restarted
from tests.faults.clock_set import clock_set
from tests.faults.conftest import CollectorProcess
from tests.faults.disk_full import full_at_a_backup, full_at_a_commit, full_at_a_migration, full_at_a_photo
from tests.faults.mad_probe import mad
from tests.faults.outcome import Outcome, table
from tests.faults.power_cut import cut_at_commits
from tests.faults.serve_killed import everything_killed, mosquitto_killed, parts_killed
from tests.faults.slow_store import slow_commits
from tests.faults.small_disk import mounted
from tests.faults.standing_still import stood_still

TIMES = int(os.environ.get("RINDWATCH_TEST_KILLS", "20"))
PAYLOADS = int(os.environ.get("RINDWATCH_TEST_PAYLOADS", "1000000"))
STILL = 5
Fault = Callable[[Path], list[Outcome]]


def _again(fault: Fault, strikes: int = 1) -> Fault:
    """A fault that strikes so often in one house, in as many fresh houses as it takes."""

    def all_of_them(folder: Path) -> list[Outcome]:
        added: list[Outcome] = []
        for turn in range(math.ceil(TIMES / strikes)):
            own = folder / str(turn)
            own.mkdir()
            found = fault(own)
            added = [a.and_again(b) for a, b in zip(added, found, strict=True)] if added else found
        return added

    return all_of_them


@contextmanager
def a_broker(kind: str, folder: Path, persists: bool = True) -> Iterator[Broker]:
    prepare(Settings(data=folder))
    broker = Broker(kind, folder, persists=persists)
    broker.start()
    try:
        yield broker
    finally:
        broker.stop()


def _slow(kind: str, folder: Path) -> list[Outcome]:
    with a_broker(kind, folder) as broker:
        return [slow_commits(broker, 0.5, 1_000)]


def _mad(kind: str, folder: Path) -> list[Outcome]:
    with a_broker(kind, folder) as broker:
        return [mad(broker, CollectorProcess(broker), 1_000, 5)]


def _still(kind: str, folder: Path) -> list[Outcome]:
    with a_broker(kind, folder) as broker:
        return [stood_still(broker, CollectorProcess(broker), 5_000, STILL)]


def _clock(kind: str, hours: float, folder: Path) -> list[Outcome]:
    with a_broker(kind, folder) as broker:
        return [clock_set(broker, timedelta(hours=hours))]


def _restart(kind: str, persists: bool, end: str, folder: Path) -> list[Outcome]:
    with a_broker(kind, folder, persists) as broker:
        words = f"{'stopped' if end == 'stop' else 'killed'} and started{', persistent' if persists else ''}"
        return [restarted(broker, CollectorProcess(broker), getattr(broker, end), words)]


def _disk_full(folder: Path) -> list[Outcome]:
    fill_folder(folder / "data")
    with mounted(folder / "small") as disk:
        return [
            full_at_a_commit(disk, folder, TIMES),
            full_at_a_photo(disk, TIMES),
            full_at_a_backup(folder / "data", disk, TIMES),
            full_at_a_migration(disk, TIMES),
        ]


def _arbitrary(folder: Path) -> list[Outcome]:
    store = SqliteReadings(folder / "readings.sqlite3")
    try:
        return [arbitrary(store, PAYLOADS)]
    finally:
        store.close()


FAULTS: dict[str, Fault] = {
    "kills of parts": lambda folder: parts_killed(folder, TIMES),
    "kills of all": lambda folder: everything_killed(folder, TIMES),
    "kills mosquitto": lambda folder: mosquitto_killed(folder, TIMES),
    "disk full": _disk_full,
    "slow embedded": _again(partial(_slow, "embedded")),
    "slow mosquitto": _again(partial(_slow, "mosquitto")),
    "mad embedded": _again(partial(_mad, "embedded")),
    "mad mosquitto": _again(partial(_mad, "mosquitto")),
    "still embedded": _again(partial(_still, "embedded"), STILL),
    "still mosquitto": _again(partial(_still, "mosquitto"), STILL),
    **{
        f"clock {h:+d} {kind}": _again(partial(_clock, kind, h))
        for h in (-3, -1, 1, 5)
        for kind in ("embedded", "mosquitto")
    },
    "power cut": lambda folder: [cut_at_commits(folder, TIMES)],
    "restart mosquitto persistent": _again(partial(_restart, "mosquitto", True, "stop")),
    "restart mosquitto": _again(partial(_restart, "mosquitto", False, "stop")),
    "restart mosquitto killed persistent": _again(partial(_restart, "mosquitto", True, "kill")),
    "restart mosquitto killed": _again(partial(_restart, "mosquitto", False, "kill")),
    "restart embedded": _again(partial(_restart, "embedded", False, "stop")),
    "arbitrary": _arbitrary,
}


def main() -> int:
    words = sys.argv[1:]
    if unknown := [word for word in words if not any(word in name for name in FAULTS)]:
        raise SystemExit(f"no fault is called {', '.join(unknown)}; there are: {', '.join(FAULTS)}")
    outcomes: list[Outcome] = []
    for name, fault in FAULTS.items():
        if words and not any(word in name for word in words):
            continue
        with TemporaryDirectory(prefix="rindwatch-faults-") as folder:
            found = fault(Path(folder))
        print(table(found), flush=True)
        outcomes += found
    print("\n" + table(outcomes))
    return sum(one.lost + one.doubled for one in outcomes)


if __name__ == "__main__":
    sys.exit(min(main(), 1))
