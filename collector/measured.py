"""What can be measured of a running house: counts, ages and lags, read from what the processes leave behind.

Reading it costs a few small questions to the two databases; nothing is counted for it in the way of a message.
"""

import sqlite3
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

from sqlalchemy import Connection, func, select

from collector.readings.reader import consumed, newest_change
from collector.readings.rollups import CONSUMER, FOLLOWER
from collector.records.columns import to_ms
from collector.records.life import Sign, signs
from collector.records.tables import cursor, outbox, warning

Kind = Literal["counter", "gauge"]
Labels = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Measure:
    """One number with a name; a counter only ever grows while its process lives.

    Args:
        name: without prefix and without the ending of counters. about: one sentence. value: None is left out.
    """

    name: str
    kind: Kind
    about: str
    value: float | None
    labels: Labels | None = None


def measures(readings: sqlite3.Connection | None, records: Connection, now: datetime) -> Iterator[Measure]:
    """Everything that can be told now; a part that has never run tells nothing.

    Args:
        readings: a connection to the readings; None before the first start.
    """
    signed = signs(records)
    if readings is not None:
        yield from _of_readings(readings)
        yield from _of_the_log(readings, records)
    yield from _of_messages_out(records, now)
    for name, tell in (("collector", _of_the_collector), ("follower", _of_the_follower)):
        if name in signed:
            yield from tell(signed[name], now)


def _of_readings(db: sqlite3.Connection) -> Iterator[Measure]:
    messages, newest_ms, probes = db.execute("SELECT sum(messages), max(last_ms), count(*) FROM probe").fetchone()
    yield Measure("messages", "counter", "Messages that were understood and committed.", messages or 0)
    yield Measure("last_message_timestamp_seconds", "gauge", "When the newest message arrived.", _seconds(newest_ms))
    yield Measure("probes", "gauge", "Probes that were ever heard.", probes)
    yield Measure("channels", "gauge", "Channels that were ever heard.", _one(db, "SELECT count(*) FROM channel"))
    counters = dict(db.execute("SELECT name, n FROM counter").fetchall())
    for key, name, about in COUNTERS:
        yield Measure(name, "counter", about, counters.get(key, 0))
    size = _one(db, "PRAGMA page_count") * _one(db, "PRAGMA page_size")
    yield Measure("readings_database_bytes", "gauge", "Size of the readings database, its log not counted.", size)


COUNTERS = (
    ("reject", "rejects", "Messages or values that could not be understood and were set aside."),
    ("conflict", "conflicts", "Readings that replaced another value of the same time."),
    ("probe_beyond_limit", "probes_beyond_limit", "Messages of probes beyond the number that is kept."),
    ("follower_set_aside", "follower_set_aside", "Points that the database that follows refuses for good."),
)


def _of_the_log(db: sqlite3.Connection, records: Connection) -> Iterator[Measure]:
    newest = newest_change(db)
    watched = records.execute(select(cursor.c.seq).where(cursor.c.name == "watch")).scalar()
    places = {"rollups": consumed(db, CONSUMER), "watch": int(watched or 0)}
    if _one(db, "SELECT count(*) FROM consumer WHERE name='follower'"):
        places["follower"] = consumed(db, FOLLOWER)
    for name, place in places.items():
        about = "Entries of the change log that a part has not looked at yet."
        yield Measure("change_log_lag", "gauge", about, max(0, newest - place), {"part": name})


def _of_messages_out(records: Connection, now: datetime) -> Iterator[Measure]:
    waits = (outbox.c.sent_at.is_(None), outbox.c.dropped_at.is_(None), outbox.c.given_up_at.is_(None))
    number, oldest = records.execute(select(func.count(), func.min(outbox.c.created_at)).where(*waits)).one()
    yield Measure("outbox_waiting", "gauge", "Messages to people that wait to be sent.", number)
    yield Measure("outbox_oldest_seconds", "gauge", "Age of the oldest of them.", _age_s(oldest, now) or 0.0)
    for name, column in (("sent", outbox.c.sent_at), ("given_up", outbox.c.given_up_at)):
        found = records.execute(select(func.count()).where(column.is_not(None))).scalar()
        yield Measure("outbox_done", "gauge", "Messages to people in the outbox that are done.", found, {"how": name})
    open_ones = records.execute(
        select(func.count()).where(warning.c.cleared_at.is_(None), warning.c.withdrawn_at.is_(None))
    ).scalar()
    yield Measure("warnings_open", "gauge", "Warnings that hold now.", open_ones)


def _of_the_collector(sign: Sign, now: datetime) -> Iterator[Measure]:
    facts = sign.facts
    yield Measure(
        "collector_silent_seconds", "gauge", "Age of the collector's last sign of life.", _age_s(sign.at, now)
    )
    connected = facts.get("broker") == "connected"
    yield Measure("broker_connected", "gauge", "Whether the collector is connected to the broker.", float(connected))
    tally = facts.get("tally") or {}
    for name in ("kept", "repeated", "conflicts"):
        about = "Readings committed since the collector began: new, sent again, and replaced."
        yield Measure("readings", "counter", about, tally.get(name), {"outcome": name})
    yield Measure("commits", "counter", "Commits of readings since the collector began.", tally.get("commits"))
    yield Measure("last_commit_timestamp_seconds", "gauge", "When readings were last committed.", _at(tally, "last_at"))
    yield Measure("intake_waiting", "gauge", "Messages taken and not yet committed.", facts.get("waiting"))
    yield Measure("store_refusing", "gauge", "Whether the store takes no readings now.", facts.get("refusing"))


def _of_the_follower(sign: Sign, now: datetime) -> Iterator[Measure]:
    facts = sign.facts
    follows = float(facts.get("state") == "following" and (_age_s(sign.at, now) or 0) < 120)
    yield Measure("follower_following", "gauge", "Whether the database that follows takes what is sent.", follows)
    yield Measure("follower_points", "counter", "Points copied since the collector began.", facts.get("points"))
    yield Measure("follower_owed_spans", "gauge", "Spans of readings still to be copied.", facts.get("owed_spans"))
    owed_s = (facts.get("owed_ms") or 0) / 1_000
    yield Measure("follower_owed_seconds", "gauge", "How long those spans are, all channels together.", owed_s)
    yield Measure("follower_copied_timestamp_seconds", "gauge", "When a batch was last taken.", _at(facts, "copied_at"))


def _one(db: sqlite3.Connection, question: str) -> int:
    return int(db.execute(question).fetchone()[0])


def _seconds(ms: int | None) -> float | None:
    return None if ms is None else ms / 1_000


def _age_s(at: datetime | None, now: datetime) -> float | None:
    return None if at is None else max(0.0, (now - at).total_seconds())


def _at(facts: Mapping[str, Any], name: str) -> float | None:
    text = facts.get(name)
    return None if not text else to_ms(datetime.fromisoformat(text)) / 1_000
