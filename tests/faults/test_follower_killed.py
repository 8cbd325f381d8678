"""SIGKILL of the copying in its midst: in the end everything is there, once, and nothing that is not here."""

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from collector.readings.follower.ledger import set_aside_rows
from tests.brokers import wait_for
from tests.builders import a_stretch_of
from tests.following import a_house, follower_settings
from tests.influx_stand_in import InfluxStandIn

KILLS = int(os.environ.get("RINDWATCH_TEST_KILLS", "5"))
READINGS = 1_000  # of each channel, in batches of 200


@contextmanager
def copying(folder: Path, url: str) -> Iterator[None]:
    command = [sys.executable, "-m", "tests.faults.follower_program", str(folder), url]
    process = subprocess.Popen(command)
    try:
        yield
    finally:
        process.kill()
        process.wait()


def test_killed_while_it_copies_nothing_is_missing_or_too_much(tmp_path: Path) -> None:
    with InfluxStandIn().running() as stand_in:
        stand_in.make_bucket("caves")
        stand_in.max_lines = 200
        with a_house(tmp_path, follower_settings(tmp_path, stand_in.url, "caves")) as house:
            house.add(*a_stretch_of([12.0 + i % 50 / 10 for i in range(READINGS)]))
            for kill in range(KILLS):
                new = a_stretch_of([80.0 + i % 90 / 10 for i in range(READINGS)], field=f"channel-{kill}", unit="%RH")
                house.add(*new)
                written = len(stand_in.buckets["caves"].points)
                with copying(tmp_path, stand_in.url):
                    wait_for(lambda: len(stand_in.buckets["caves"].points) > written + 300, what="it copies")  # noqa: B023
            with copying(tmp_path, stand_in.url):
                wait_for(house.ledger_is_paid, 60, "all is copied")
            assert everything(stand_in) == set(house.here())
            assert house.there() == house.here()
            assert set_aside_rows(house.db) == []


def everything(stand_in: InfluxStandIn) -> set[tuple[object, ...]]:
    """The keys of all points that are there, asked for or not."""
    keys = [(key[0], dict(key[1]), key[2]) for key in stand_in.buckets["caves"].points]
    return {(name, tags["probe"], tags["field"], tags.get("unit", ""), at_ms) for name, tags, at_ms in keys}
