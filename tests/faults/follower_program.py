"""A small program that copies a store to a database until it is killed, on the thread that the collector gives it.

Run as: python -m tests.faults.follower_program FOLDER URL
"""

import sys
from pathlib import Path
from threading import Event

from collector.clock import SystemClock
from collector.readings.follower.attached import AttachedFollower
from collector.readings.follower.settings import FollowerSettings
from collector.readings.store import SqliteReadings
from tests.influx_stand_in import ORG


def main(folder: Path, url: str) -> None:
    settings = FollowerSettings(
        influx_url=url, influx_org=ORG, influx_bucket="caves", influx_token_file=folder / "token"
    )  # fmt: skip
    AttachedFollower(settings, SqliteReadings(folder / "readings.sqlite3"), SystemClock()).start(Event())
    Event().wait()


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2])
