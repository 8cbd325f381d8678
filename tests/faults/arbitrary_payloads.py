"""Payloads of any kind: noise, and real messages with bytes flipped, cut, doubled, nested, on odd topics."""

import random
import time
from collections.abc import Iterator

from collector.clock import ManualClock
from collector.intake.intake import Intake
from collector.intake.payloads import PackRecord, encode_senml
from collector.intake.timing import Passage
from collector.readings.model import Arrival, Reject
from collector.readings.store import MAX_REJECTS, SqliteReadings
from tests.builders import START_AT, START_MS
from tests.faults.outcome import Outcome

SEEDS = (
    b'[{"bn":"cave/","bt":1772431200,"n":"temperature","u":"Cel","v":12.5},{"n":"humidity","u":"%RH","v":87}]',
    b'{"temperature":12.5,"humidity":{"value":87.1,"unit":"%"},"battery":"93 %","time":"2026-03-02T06:00:00Z"}',
    b"12.5", b"12,5 C", b"NaN", b"1e999", b"-", b"on", b"null", b'"', b"[" * 2_000, b'{"a":' * 500, b"\x00\xff\xfe",
    encode_senml([PackRecord("temperature", 12.5, "Cel")], base_time_s=1_772_431_200),
    encode_senml([PackRecord("temperature", 12.5, "Cel", -1.0)], boot="b", seq=7),
    b"\xbf" * 300, b"\x9f\x9f\x9f", b"\xfb\x7f\xf8\x00\x00\x00\x00\x00\x00", b"\xc1\x1b" + b"\xff" * 8,
)  # fmt: skip
TOPICS = (
    "rindwatch/p/readings", "rindwatch/p/status", "bare/temperature", "rindwatch/<b>x</b>/readings",
    "rindwatch//readings", "rindwatch/" + "y" * 900 + "/readings", "rindwatch/\u202e/readings", "bare/" + "a/" * 60,
)  # fmt: skip


class ListensToAll:
    filters = ("bare/#",)
    hints = {}  # noqa: RUF012


def payloads(count: int, seed: int = 20260312) -> Iterator[tuple[str, bytes]]:
    """So many messages, the same for the same seed."""
    chance = random.Random(seed)
    for _ in range(count):
        yield chance.choice(TOPICS), _one(chance)


def _one(chance: random.Random) -> bytes:
    way = chance.randrange(6)
    if way == 0:
        return chance.randbytes(chance.randrange(120))
    data = bytearray(chance.choice(SEEDS))
    if way == 1 or not data:
        return bytes(data)
    at = chance.randrange(len(data))
    if way == 2:
        for _ in range(chance.randrange(1, 6)):
            data[chance.randrange(len(data))] = chance.randrange(256)
    elif way == 3:
        del data[at:]
    elif way == 4:
        data[at:at] = chance.choice(SEEDS)[:200]
    else:
        data[at : at + 1] = str(chance.choice((1e308, -1e-320, 2**70, "9" * 400, "\u0663"))).encode()
    return bytes(data)


def arbitrary(store: SqliteReadings, count: int) -> Outcome:
    """Take them all in; a reading of a good probe comes after every hundred, and must be stored."""
    clock = ManualClock(START_AT)
    intake = Intake(store, clock, ListensToAll(), lambda _state, _reason: None)
    began, waiting, good = time.monotonic(), list[Arrival | Reject](), 0
    for number, (topic, payload) in enumerate(payloads(count)):
        waiting.append(intake.read(Passage(topic, START_MS + number, False, False, payload, True)))
        if number % 100 == 99:
            own = encode_senml([PackRecord("temperature", float(good), "Cel")], base_time_s=START_MS // 1_000 - good)
            waiting.append(intake.read(Passage("rindwatch/good/readings", START_MS + number, False, False, own, True)))
            good += 1
            store.add(waiting)
            waiting.clear()
    took = time.monotonic() - began
    with store.alone() as db:
        query = "SELECT count(*), count(DISTINCT value) FROM reading JOIN channel ON id=channel WHERE probe='good'"
        stored, apart = db.execute(query).fetchone()
        rejects = db.execute("SELECT count(*) FROM reject").fetchone()[0]
        refused = db.execute("SELECT n FROM counter WHERE name='reject'").fetchone()[0]
    assert rejects <= MAX_REJECTS
    note = f"{refused} set aside, {rejects} shown, {count / took:.0f} a second"
    return Outcome("arbitrary payloads", count, good, good - apart, stored - apart, 0, [], note)
