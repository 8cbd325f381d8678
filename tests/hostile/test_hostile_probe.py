"""A probe that means harm, or has gone mad: what it sends is set aside with its reason, and the others go on."""

import json
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import cbor2
import pytest

from collector.intake.intake import Intake
from collector.readings.registry import MAX_CHANNELS_OF_A_PROBE, MAX_PROBES
from collector.readings.store import MAX_KEPT_PAYLOAD, MAX_REJECTS, SqliteReadings
from tests.collector.intake.test_intake import a_message, a_pack, an_intake

DEEP = 100_000
PAYLOADS = {
    "ten megabytes of nothing": b"\0" * 10_000_000,
    "ten megabytes of a number": b"1" * 10_000_000,
    "ten megabytes of a pack": b'[{"n":"t","v":1}' + b"," + b'{"n":"t","v":1},' * 600_000 + b"{}]",
    "a deep list": b"[" * DEEP + b"]" * DEEP,
    "a deep object": b'{"a":' * DEEP + b"1" + b"}" * DEEP,
    "deep cbor": b"\x81" * DEEP + b"\x00",
    "cbor that says it is endless": b"\x9b\xff\xff\xff\xff\xff\xff\xff\xff",
    "cbor bytes longer than memory": b"\x5b\x7f\xff\xff\xff\xff\xff\xff\xff",
    "a large tag": cbor2.dumps(cbor2.CBORTag(2, b"\xff" * 50_000)),
    "nul": b'[{"n":"temp\\u0000erature","u":"Cel","v":1}]',
    "nul bytes": b"12\x0034",
    "wrong utf-8": b'[{"n":"\xff\xfe","u":"Cel","v":1}]',
    "half of a sign": b'[{"n":"\\ud800","u":"Cel","v":1}]',
    "beyond all numbers": b'[{"n":"temperature","u":"Cel","v":1e999}]',
    "not a number": b'[{"n":"temperature","u":"Cel","v":NaN}]',
    "a number of a million digits": b'[{"n":"temperature","u":"Cel","v":' + b"9" * 200_000 + b"}]",
    "an object full of numbers": json.dumps({f"f{i}": i for i in range(5_000)}).encode(),
    "the same key again and again": b"{" + b'"a":1,' * 20_000 + b'"a":1}',
    "a clock in 1970": b'[{"n":"temperature","u":"Cel","v":11,"t":300000000}]',
    "a clock in 2100": b'[{"n":"temperature","u":"Cel","v":11,"t":4102444800}]',
    "a clock at the end of all time": b'[{"n":"temperature","u":"Cel","v":11,"t":1e300}]',
    "markup": b"<script>alert(1)</script>",
    "a formula": b"=cmd|' /C calc'!A0",
}


@pytest.fixture
def store(tmp_path: Path) -> Iterator[SqliteReadings]:
    store = SqliteReadings(tmp_path / "readings.sqlite3")
    yield store
    store.close()


def good_ones(store: SqliteReadings) -> int:
    with store.transaction() as db:
        query = "SELECT count(*) FROM reading r JOIN channel c ON c.id = r.channel WHERE c.probe = 'cellar-1'"
        return int(db.execute(query).fetchone()[0])


def count(store: SqliteReadings, table: str) -> int:
    with store.transaction() as db:
        return int(db.execute(f"SELECT count(*) FROM {table}").fetchone()[0])


@pytest.mark.parametrize("payload", PAYLOADS.values(), ids=PAYLOADS.keys())
def test_a_hostile_payload_stops_nobody_and_is_kept_small(payload: bytes, store: SqliteReadings) -> None:
    intake: Intake = an_intake(store)
    intake.take(a_message(1, a_pack(1)))
    intake.take(a_message(2, payload, "rindwatch/hostile/readings"))
    intake.take(a_message(3, a_pack(2)))
    assert intake.commit() == [(1, 1), (2, 1), (3, 1)], "it is acknowledged, or the broker sends it for ever"
    assert good_ones(store) == 2
    with store.transaction() as db:
        rejects = db.execute("SELECT reason, length(payload) FROM reject").fetchall()
        values = db.execute("SELECT value FROM reading").fetchall()
    assert all(reason and size <= MAX_KEPT_PAYLOAD for reason, size in rejects)
    assert all(abs(value) < 1e300 for (value,) in values)


@pytest.mark.parametrize("name", ["x" * 5_000, "..", "\u202e", "", "<b>", "a\nb", "a/b/c", "-", "a\0b"])
def test_a_hostile_topic_stops_nobody(name: str, store: SqliteReadings) -> None:
    intake = an_intake(store)
    intake.take(a_message(1, a_pack(1), f"rindwatch/{name}/readings"))
    intake.take(a_message(2, a_pack(2)))
    assert intake.commit() == [(1, 1), (2, 1)]
    assert good_ones(store) == 1


def test_a_topic_that_is_not_utf8_stops_nobody(store: SqliteReadings) -> None:
    intake = an_intake(store)
    wrong = a_message(1, a_pack(1))
    wrong._topic = b"rindwatch/\xff\xfe/readings"
    intake.take(wrong)
    intake.take(a_message(2, a_pack(2)))
    assert len(intake.commit()) == 2
    assert good_ones(store) == 1


def test_a_multitude_of_topics_fills_nothing_and_known_probes_go_on(store: SqliteReadings) -> None:
    intake = an_intake(store)
    intake.take(a_message(1, a_pack(0)))
    for number in range(MAX_PROBES + MAX_REJECTS + 200):
        intake.take(a_message(1, b"11.5", f"cellar/{number}/temperature", qos=0))
    intake.commit()
    intake.take(a_message(2, a_pack(1)))
    intake.commit()
    assert good_ones(store) == 2
    assert count(store, "probe") <= MAX_PROBES
    assert count(store, "reject") <= MAX_REJECTS


def test_a_multitude_of_fields_fills_nothing(store: SqliteReadings) -> None:
    intake = an_intake(store)
    for start in range(0, 3 * MAX_CHANNELS_OF_A_PROBE, 50):
        payload = json.dumps({f"field{start + i}": i for i in range(50)}).encode()
        intake.take(a_message(1, payload, "cellar/hostile"))
    intake.commit()
    assert count(store, "channel") <= MAX_CHANNELS_OF_A_PROBE


def test_clocks_that_jump_back_and_forth_move_no_other_probe(store: SqliteReadings) -> None:
    intake = an_intake(store)
    for year_s in (0, 300_000_000, 4_102_444_800, 10**15, -(10**15)):
        payload = json.dumps([{"n": "temperature", "u": "Cel", "v": 11, "t": year_s}]).encode()
        intake.take(a_message(1, payload, "rindwatch/hostile/readings"))
        intake.take(a_message(2, a_pack(timedelta(seconds=year_s % 7).total_seconds())))
    intake.commit()
    with store.transaction() as db:
        taken = [row[0] for row in db.execute("SELECT taken_ms FROM reading")]
    assert min(taken) > 946_684_800_000
    assert max(taken) < 1_800_000_000_000
