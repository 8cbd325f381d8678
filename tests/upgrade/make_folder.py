"""Makes the small data folder of a released version that the newest code must open; run it with that version's code.

    git worktree add ../released COMMIT && cp -r tests/upgrade ../released/tests/
    cd ../released && python -m tests.upgrade.make_folder 0.1.0.zip && cp 0.1.0.zip ../HERE/tests/upgrade/released/

Everything in it is invented.
"""

import sys
import zipfile
from datetime import timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

from sqlalchemy import insert

from collector.clock import ManualClock
from collector.notify.channels import add_channel
from collector.prepare import prepare
from collector.readings import packs
from collector.readings.model import Mark, ProbeState, Reject
from collector.readings.rollups import follow
from collector.readings.schema import open_reader
from collector.readings.store import SqliteReadings
from collector.records.engine import open_records
from collector.records.facts import Calibration, Placement, Target
from collector.records.life import sign
from collector.records.places import add_fact
from collector.records.tables import person, place, setting
from collector.settings import Settings, write_secret
from collector.watch import Watch
from tests.builders import a_sample, an_arrival, at, ms
from tests.dashboard.wheels.builders import CELLAR
from tests.dashboard.wheels.conftest import PLACES
from tests.dashboard.wheels.test_exchange import a_full_book

DAYS = 12
EVERY_MIN = 10


def make(data: Path) -> None:
    settings = Settings(data=data)
    prepare(settings)
    write_secret(settings.secrets_folder / "probe-password", "an invented secret")
    store = SqliteReadings(settings.readings_path)
    _readings(store)
    _records(settings)
    while follow(store):
        pass
    with store.transaction() as db:
        while packs.make_due(db, ms(60 * 24 * 40)):
            pass
    records, reader = open_records(settings.records_at), open_reader(settings.readings_path)
    watch = Watch(reader, records, ManualClock(at(60 * 24 * DAYS)))
    for _ in range(200):
        watch.step()
    a_full_book(records, data / "photos")
    sign(records, "collector", at(60 * 24 * DAYS), {"broker": "connected"})
    reader.close()
    records.dispose()
    store.close()


def _readings(store: SqliteReadings) -> None:
    minutes = range(0, 60 * 24 * DAYS, EVERY_MIN)
    warm = range(60 * 24 * 6, 60 * 24 * 8)
    store.add([
        an_arrival(
            a_sample(m, 12.0 + m // 10 % 5 / 10 + (7 if m in warm else 0)),
            a_sample(m, 85.0 + m // 10 % 7, field="humidity", unit="%RH"),
            boot="b1", seq=m // EVERY_MIN,
        )
        for m in minutes
    ])  # fmt: skip
    store.add([an_arrival(a_sample(m, 54.0, unit="degF"), probe="attic", payload=b"54") for m in (1, 20, 40)])
    store.add([an_arrival(a_sample(m, 11.5, mark=Mark.TYPED), probe="dial") for m in (30, 900)])
    store.add([an_arrival(a_sample(m, 4.0, mark=Mark.AT_THE_LATEST), probe="late") for m in (50, 55)])
    store.add([an_arrival(a_sample(60), probe="flight", flight=b"digest", state=ProbeState("on", 600.0, '{"v":"1"}'))])
    store.add([Reject("odd/topic", "no number in it", b"\x00\xff", ms(61))])
    store.note_taken_in("digest", "old log.csv", 10, 1, ms(62))


def _records(settings: Settings) -> None:
    records = open_records(settings.records_at)
    began = at(0) - timedelta(days=1)
    with records.begin() as db:
        db.execute(insert(place), PLACES)
        add_fact(db, Placement("placed", began, began, "cellar-1", "air", CELLAR))
        add_fact(db, Target("aim", began, began, CELLAR, False, 10.0, 13.0, 80.0, 95.0, 60))
        add_fact(
            db, Calibration("salt", began, began, "cellar-1", "humidity", 1.5, 1.0, 2.0, "salt", ((75.3, 74.0, 0.5),))
        )
        add_channel(db, "webhook", "hook", {"url": "http://127.0.0.1:1/"}, began)
        db.execute(insert(setting), [{"key": "household.dairy_name", "value": "Käserei “Ö”"}])
        db.execute(insert(person), [{"id": "owner", "name": "The keeper", "role": "owner", "created_at": began}])
    records.dispose()


def main() -> None:
    with TemporaryDirectory() as folder:
        make(Path(folder) / "data")
        with zipfile.ZipFile(sys.argv[1], "w", zipfile.ZIP_DEFLATED, compresslevel=9) as file:
            for path in sorted((Path(folder) / "data").rglob("*")):
                if path.is_file() and not path.name.endswith((".lock", "-wal", "-shm")):
                    file.write(path, path.relative_to(Path(folder) / "data"))


if __name__ == "__main__":
    main()
