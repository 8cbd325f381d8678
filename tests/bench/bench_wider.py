"""What one more cave costs: CPU of a message on its way in, and of judging a place for ten minutes.

CPU time and not the clock, so that it can be multiplied. Run with `python -m tests.bench.bench_wider`; DEVELOPERS.md
multiplies these numbers for 1, 100 and 10,000 caves.
"""

import sqlite3
import tempfile
import time
from collections.abc import Mapping, Sequence
from contextlib import closing
from datetime import timedelta
from pathlib import Path

from paho.mqtt.client import MQTTMessage

from collector.clock import ManualClock, SystemClock
from collector.intake.intake import Intake
from collector.intake.payloads import FieldHints, PackRecord, encode_senml
from collector.readings.model import Arrival, Sample
from collector.readings.rollups import follow
from collector.readings.schema import open_reader
from collector.readings.store import SqliteReadings
from collector.records.engine import open_records
from collector.watch import Watch
from tests.bench.stored_caves import FIELDS, MINUTE_MS, NOW_AT, NOW_MS, make_house

MESSAGES = 10_000
STEPS = 4  # ten minutes each
DAYS = 42


class NoChoices:
    """Nobody chose anything."""

    filters: Sequence[str] = ()
    hints: Mapping[str, FieldHints] = {}


def a_message(number: int, packed: bytes) -> MQTTMessage:
    message = MQTTMessage(mid=number % 65_535 + 1, topic=f"rindwatch/probe-{number % 20}/readings".encode())
    message.qos, message.payload = 1, packed
    return message


def message_us(at_once: int) -> float:
    """CPU of a message of two records, decoded, committed and ready to be acknowledged, so many to a commit [us]."""
    records = [PackRecord("temperature", 12.25, "Cel"), PackRecord("humidity", 87.5, "%RH")]
    packed = [encode_senml(records, base_time_s=1_767_000_000 + i * 60) for i in range(MESSAGES // 20)]
    with tempfile.TemporaryDirectory() as folder:
        store = SqliteReadings(Path(folder) / "readings.sqlite3")
        intake = Intake(store, SystemClock(), NoChoices(), lambda _state, _reason: None)  # type: ignore[arg-type]
        began = time.process_time()
        for number in range(MESSAGES):
            intake.take(a_message(number, packed[number // 20]))
            if number % at_once == at_once - 1:
                intake.commit()
        spent = time.process_time() - began
        kept = closing(sqlite3.connect(store.path))
        with kept as db:
            assert db.execute("SELECT count(*) FROM reading").fetchone()[0] == 2 * MESSAGES
        store.close()
    return 1e6 * spent / MESSAGES


def judged_ms(caves: int) -> float:
    """CPU of rollups and watch for one place and ten minutes of one-minute readings [ms]."""
    with tempfile.TemporaryDirectory() as folder:
        settings, _ = make_house(Path(folder), caves, DAYS)
        store, records = SqliteReadings(settings.readings_path), open_records(settings.records_at)
        clock, db = ManualClock(NOW_AT), open_reader(settings.readings_path)
        watch = Watch(db, records, clock)
        spent = 0.0
        for step in range(STEPS + 1):
            store.add([message for number in range(caves) for message in _ten_minutes(number, step)])
            clock.advance(timedelta(minutes=10))
            began = time.process_time()
            while follow(store):
                pass
            while watch.step().judged_places:
                pass
            spent += time.process_time() - began if step else 0  # the first one gathers what all later ones use
        db.close()
        store.close()
        records.dispose()
    return 1_000 * spent / STEPS / caves


def _ten_minutes(number: int, step: int) -> list[Arrival]:
    times = [NOW_MS + (step * 10 + minute) * MINUTE_MS for minute in range(10)]
    return [
        Arrival(
            f"probe-{number}", f"rindwatch/probe-{number}/readings", at_ms,
            tuple(Sample(field, at_ms, level, unit, field) for field, unit, level, _ in FIELDS),
        )
        for at_ms in times
    ]  # fmt: skip


def main() -> None:
    print(f"{'a message of two records':34}{'CPU us':>10}{'ratio':>8}")
    alone = message_us(1)
    for at_once in (1, 20, 200):
        spent = alone if at_once == 1 else message_us(at_once)
        print(f"{f'  {at_once} to a commit':34}{spent:>10.0f}{spent / alone:>8.2f}", flush=True)
    print(f"{'a place, ten minutes':34}{'CPU ms':>10}{'ratio':>8}")
    one = judged_ms(1)
    for caves in (1, 10):
        spent = one if caves == 1 else judged_ms(caves)
        print(f"{f'  {caves} caves in the house':34}{spent:>10.1f}{spent / one:>8.2f}", flush=True)


if __name__ == "__main__":
    main()
