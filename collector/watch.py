"""From the change log to warnings: judges again what changed, and only that."""

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime

from sqlalchemy import Connection, Engine, insert, select, update

from collector.air.channel import pieces
from collector.air.model import STEP_MS
from collector.air.read import AirReader
from collector.clock import Clock
from collector.judging import Judge, judge_span
from collector.notify.outbox import enqueue
from collector.readings.model import Change, Channel
from collector.readings.reader import changes, channels, consumed, newest_ms
from collector.readings.rollups import CONSUMER as ROLLUPS
from collector.readings.rollups import reach
from collector.records import tables
from collector.records.columns import from_ms, to_ms
from collector.records.facts import Facts
from collector.records.places import load_facts
from collector.records.warnings import Outcome, Subject, doubts, open_at, reconcile
from collector.rules.model import ChannelRule, PlaceRule, Verdict
from collector.rules.place_rules import PLACE_RULES
from collector.rules.trust import CHANNEL_RULES
from collector.situations import ChannelSituations, PlaceSituations

LATE_MS = 2 * 3_600_000  # our choice: a spell found two hours after it opened is said to be found late
FAR_AHEAD_MS = 4_102_444_800_000  # 2100: an open end


@dataclass
class Dirty:
    """From where on each channel and place has to be judged again."""

    channels: dict[int, tuple[int, int]] = field(default_factory=dict)
    places: dict[str, tuple[int, int]] = field(default_factory=dict)

    def channel(self, number: int, from_ms: int, to_ms: int) -> None:
        self.channels[number] = _wider(self.channels.get(number), from_ms, to_ms)

    def place(self, place_id: str, from_ms: int, to_ms: int) -> None:
        self.places[place_id] = _wider(self.places.get(place_id), from_ms, to_ms)


def _wider(span: tuple[int, int] | None, from_ms: int, to_ms: int) -> tuple[int, int]:
    return (from_ms, to_ms) if span is None else (min(span[0], from_ms), max(span[1], to_ms))


@dataclass(frozen=True, slots=True)
class Found:
    """What one pass of the watch opened, cleared and withdrew."""

    outcomes: tuple[Outcome, ...]
    judged_places: int


class Watch:
    """Follows the change log of the readings and of the facts; verdicts and its place in both are one commit."""

    def __init__(self, readings: sqlite3.Connection, records: Engine, clock: Clock) -> None:
        self._readings, self._records, self._clock = readings, records, clock

    def step(self, limit: int = 5_000) -> Found:
        """Judge what changed since the last step."""
        self._readings.execute("BEGIN")  # one view of the readings for the whole pass
        try:
            with self._records.begin() as connection:
                return _Pass(self._readings, connection, self._clock.now()).run(limit)
        finally:
            self._readings.execute("COMMIT")


class _Pass:
    """One pass in one transaction of the records."""

    def __init__(self, db: sqlite3.Connection, connection: Connection, now: datetime) -> None:
        self._db, self._connection, self._now = db, connection, now
        self._facts: Facts = load_facts(connection)
        self._channels = {c.id: c for c in channels(db)}
        self._dirty = Dirty()
        self._outcomes: list[Outcome] = []

    def run(self, limit: int) -> Found:
        ceiling = consumed(self._db, ROLLUPS)
        new = [c for c in changes(self._db, self._cursor("watch"), limit) if c.seq <= ceiling]
        facts_seen = self._take_facts()
        self._take_changes(new)
        for number, span in self._dirty.channels.items():
            self._judge_channel(self._channels[number], span)
        judged = sum(self._judge_place(place_id, span) for place_id, span in self._waiting().items())
        if new:
            self._set_cursor("watch", new[-1].seq)
        self._set_cursor("watch_facts", facts_seen)
        enqueue(self._connection, self._outcomes, self._now)
        return Found(tuple(self._outcomes), judged)

    def _cursor(self, name: str) -> int:
        row = self._connection.execute(select(tables.cursor.c.seq).where(tables.cursor.c.name == name)).first()
        return int(row[0]) if row else 0

    def _set_cursor(self, name: str, seq: int) -> None:
        changed = self._connection.execute(update(tables.cursor).where(tables.cursor.c.name == name).values(seq=seq))
        if changed.rowcount == 0:
            self._connection.execute(insert(tables.cursor).values(name=name, seq=seq))

    def _take_changes(self, new: Sequence[Change]) -> None:
        merged = Dirty()
        for change in new:
            if change.channel is not None:
                merged.channel(change.channel, change.from_ms, change.to_ms)
        for number, span in merged.channels.items():
            self._touch(self._channels[number], *reach(self._db, number, *span))

    def _take_facts(self) -> int:
        """A target, placement, calibration or setting was added: everything it touches from its time on."""
        fact = tables.fact_change
        rows = self._connection.execute(select(fact).where(fact.c.seq > self._cursor("watch_facts"))).all()
        end = to_ms(self._now)
        for row in rows:
            for channel in self._channels.values():
                if row.probe is not None and channel.probe == row.probe:
                    self._touch(channel, to_ms(row.from_at), end)
            if row.place_id is not None:
                self._dirty_place(row.place_id, to_ms(row.from_at), end)
        return max([int(row.seq) for row in rows], default=self._cursor("watch_facts"))

    def _touch(self, channel: Channel, from_ms: int, to_ms_: int) -> None:
        self._dirty.channel(channel.id, from_ms, to_ms_)
        for piece in pieces(channel, self._facts, from_ms, to_ms_ + 1):
            if piece.placement is not None and piece.placement.place_id is not None:
                self._dirty_place(piece.placement.place_id, piece.from_ms, piece.to_ms)

    def _dirty_place(self, place_id: str, from_ms: int, to_ms_: int) -> None:
        """A place, and those inside it that may take their air from it."""
        self._dirty.place(place_id, from_ms, to_ms_)
        for inner in self._facts.places.values():
            if inner.parent_id == place_id and inner.id != place_id:
                self._dirty_place(inner.id, from_ms, to_ms_)

    def _judge_channel(self, channel: Channel, span: tuple[int, int]) -> None:
        newest = newest_ms(self._db, [channel.id])
        # Steps are judged whole: from the one that a change falls into, up to the last that is complete.
        start = span[0] // STEP_MS * STEP_MS
        if newest is None or newest // STEP_MS * STEP_MS <= start:
            return
        until = newest // STEP_MS * STEP_MS
        memory = max(rule.memory_ms for rule in CHANNEL_RULES)
        seen = ChannelSituations(self._reader({}), channel, memory)
        for rule in CHANNEL_RULES:
            subject = Subject(probe=channel.probe, field=channel.field)
            outcome = self._judge(rule, subject, _channel_judge(seen, rule), (start, span[1]), until)
            if rule.doubts and (outcome.opened or outcome.cleared or outcome.withdrawn):
                self._touch(channel, min(span[0], _since(outcome)), newest)

    def _waiting(self) -> dict[str, tuple[int, int]]:
        """Places with something to judge: what changed, and complete steps that were not judged yet."""
        return {p: s for p, s in self._dirty.places.items() if p in self._facts.places}

    def _judge_place(self, place_id: str, span: tuple[int, int]) -> bool:
        until = self._complete_until(place_id)
        done = self._cursor(f"judged/{place_id}")
        start = min(span[0], done or span[0]) // STEP_MS * STEP_MS
        if until is None or until <= start:
            return False
        memory = max(rule.memory_ms for rule in PLACE_RULES.values())
        seen = PlaceSituations(self._reader(self._doubts(start - memory, until)), place_id, memory)
        for rule in PLACE_RULES.values():
            self._judge(rule, Subject(place_id=place_id), _place_judge(seen, rule), (start, max(span[1], done)), until)
        self._set_cursor(f"judged/{place_id}", max(until, done))
        return True

    def _judge(
        self, rule: PlaceRule | ChannelRule, subject: Subject, judge: Judge, span: tuple[int, int], until: int
    ) -> Outcome:
        start, changed_to = span
        carried = open_at(self._connection, rule.name, subject, start)
        verdicts, end = judge_span(
            judge,
            carried,
            start,
            changed_to + rule.memory_ms,
            until,
            lambda at: open_at(self._connection, rule.name, subject, at) is not None,
        )
        outcome = reconcile(
            self._connection, rule.name, rule.severity, subject, (start, end), verdicts, self._now, LATE_MS
        )
        self._outcomes.append(outcome)
        return outcome

    def _complete_until(self, place_id: str) -> int | None:
        """The end of the last complete step: told by the newest reading there, not by the clock."""
        owners = self._with_parents(place_id)
        numbers = [
            channel.id
            for channel in self._channels.values()
            if any(p.place_id in owners for p in self._facts.placements_of(channel.probe, channel.field))
        ]
        newest = newest_ms(self._db, numbers)
        return None if newest is None else newest // STEP_MS * STEP_MS

    def _with_parents(self, place_id: str) -> set[str]:
        found: set[str] = set()
        step: str | None = place_id
        while step is not None and step not in found and step in self._facts.places:
            found.add(step)
            step = self._facts.places[step].parent_id
        return found

    def _doubts(self, start: int, until: int) -> dict[int, list[tuple[int, int]]]:
        return doubtful_spans(self._connection, list(self._channels.values()), start, until)

    def _reader(self, doubts_: dict[int, list[tuple[int, int]]]) -> AirReader:
        return AirReader(self._db, self._facts, doubts_, list(self._channels.values()))


def _place_judge(seen: PlaceSituations, rule: PlaceRule) -> Judge:
    return lambda start, end, carried: rule.judge(seen.at(start, end), carried)


def _channel_judge(seen: ChannelSituations, rule: ChannelRule) -> Judge:
    def judge(start: int, end: int, carried: Verdict | None) -> list[Verdict]:
        situation = seen.at(start, end)
        return [] if situation is None else rule.judge(situation, carried)

    return judge


def doubtful_spans(
    connection: Connection, known: Sequence[Channel], from_ms_: int, to_ms_: int
) -> dict[int, list[tuple[int, int]]]:
    """Spans in which a channel's readings are left out, by channel number: its probe's faults."""
    names = [rule.name for rule in CHANNEL_RULES if rule.doubts]
    numbers = {(c.probe, c.field): c.id for c in known}
    spans: dict[int, list[tuple[int, int]]] = {}
    for probe, name, start, end in doubts(connection, names, from_ms(from_ms_), from_ms(to_ms_)):
        number = numbers.get((probe, name))
        if number is not None:
            spans.setdefault(number, []).append((start, FAR_AHEAD_MS if end is None else end))
    return spans


def _since(outcome: Outcome) -> int:
    warnings = (*outcome.opened, *outcome.cleared, *outcome.withdrawn)
    return min(int(w.facts.get("since_ms", to_ms(w.opened_at))) for w in warnings)
