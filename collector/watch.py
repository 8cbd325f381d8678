"""From the change log to warnings: judges again what changed, and only that."""

import sqlite3
from collections.abc import Iterator, Mapping, Sequence
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
from collector.readings.raw_from import raw_from_ms
from collector.readings.reader import changes, channels, consumed, newest_ms
from collector.readings.rollups import CONSUMER as ROLLUPS
from collector.readings.rollups import reach
from collector.records import tables
from collector.records.columns import from_ms, to_ms
from collector.records.engine import reading
from collector.records.facts import Facts
from collector.records.places import load_facts, log_fact
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
            return _Pass(self._readings, self._records, self._clock.now()).run(limit)
        finally:
            self._readings.execute("COMMIT")


@dataclass(frozen=True, slots=True)
class _Judged:
    """What a rule says of a subject within a span, ready to be written down."""

    rule: PlaceRule | ChannelRule
    subject: Subject
    span: tuple[int, int]
    verdicts: tuple[Verdict, ...]


class _Pass:
    """One pass: judges while it only looks, and writes down in short transactions, since people write there too.

    Probes come first: their faults decide which readings the places are judged by. A pass that is cut off between is
    done again and ends the same; places that a new fault touches are logged with it, so that they are not forgotten.
    """

    def __init__(self, db: sqlite3.Connection, records: Engine, now: datetime) -> None:
        self._db, self._records, self._now = db, records, now
        self._channels = {c.id: c for c in channels(db)}
        self._raw_from_ms = raw_from_ms(db)
        self._dirty = Dirty()
        self._outcomes: list[Outcome] = []
        self._cursors: dict[str, int] = {}

    def run(self, limit: int) -> Found:
        with reading(self._records) as self._connection:
            self._facts: Facts = load_facts(self._connection)
            ceiling = consumed(self._db, ROLLUPS)
            new = [c for c in changes(self._db, self._cursor("watch"), limit) if c.seq <= ceiling]
            self._take_facts()
            self._take_changes(new)
            of_probes = [j for number, span in self._dirty.channels.items() for j in self._judge_channel(number, span)]
        self._write_probes(of_probes)
        with reading(self._records) as self._connection:
            places = self._waiting()
            of_places = [j for place_id, span in places.items() for j in self._judge_place(place_id, span)]
        if new:
            self._cursors["watch"] = new[-1].seq
        self._write(of_places, self._cursors)
        return Found(tuple(self._outcomes), len({j.subject.place_id for j in of_places}))

    def _write_probes(self, judged: Sequence[_Judged]) -> None:
        """Write down what was found of probes, and that places are judged again from where a fault began or ended."""
        if not judged:
            return
        with self._records.begin() as connection:
            for one in judged:
                outcome = self._reconcile(connection, one)
                if isinstance(one.rule, ChannelRule) and one.rule.doubts and _says_something(outcome):
                    self._touch_places(connection, one, outcome)
            enqueue(connection, self._outcomes, self._now)

    def _touch_places(self, connection: Connection, one: _Judged, outcome: Outcome) -> None:
        start = min(one.span[0], _since(outcome))
        for channel in self._channels.values():
            if (channel.probe, channel.field) != (one.subject.probe, one.subject.field):
                continue
            for place_id, from_ms_, to_ms_ in self._places_of(channel, start, one.span[1]):
                self._dirty_place(place_id, from_ms_, to_ms_)
                log_fact(connection, "doubt", from_ms(from_ms_), place_id=place_id)

    def _write(self, judged: Sequence[_Judged], cursors: Mapping[str, int]) -> None:
        if not judged and not cursors:
            return
        with self._records.begin() as connection:
            outcomes = [self._reconcile(connection, one) for one in judged]
            for name, seq in cursors.items():
                _set_cursor(connection, name, seq)
            enqueue(connection, outcomes, self._now)

    def _reconcile(self, connection: Connection, one: _Judged) -> Outcome:
        rule = one.rule
        outcome = reconcile(
            connection, rule.name, rule.severity, one.subject, one.span, one.verdicts, self._now, LATE_MS
        )
        self._outcomes.append(outcome)
        return outcome

    def _cursor(self, name: str) -> int:
        row = self._connection.execute(select(tables.cursor.c.seq).where(tables.cursor.c.name == name)).first()
        return int(row[0]) if row else 0

    def _take_changes(self, new: Sequence[Change]) -> None:
        merged = Dirty()
        for change in new:
            if change.channel is not None:
                merged.channel(change.channel, change.from_ms, change.to_ms)
        for number, span in merged.channels.items():
            self._touch(self._channels[number], *reach(self._db, number, *span))

    def _take_facts(self) -> None:
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
        if rows:
            self._cursors["watch_facts"] = max(int(row.seq) for row in rows)

    def _touch(self, channel: Channel, from_ms: int, to_ms_: int) -> None:
        self._dirty.channel(channel.id, from_ms, to_ms_)
        for place_id, start, end in self._places_of(channel, from_ms, to_ms_):
            self._dirty_place(place_id, start, end)

    def _places_of(self, channel: Channel, from_ms: int, to_ms_: int) -> Iterator[tuple[str, int, int]]:
        """Where a channel measured within a span, and when."""
        for piece in pieces(channel, self._facts, from_ms, to_ms_ + 1):
            if piece.placement is not None and piece.placement.place_id is not None:
                yield piece.placement.place_id, piece.from_ms, piece.to_ms

    def _dirty_place(self, place_id: str, from_ms: int, to_ms_: int) -> None:
        """A place, and those inside it that may take their air from it."""
        self._dirty.place(place_id, from_ms, to_ms_)
        for inner in self._facts.places.values():
            if inner.parent_id == place_id and inner.id != place_id:
                self._dirty_place(inner.id, from_ms, to_ms_)

    def _judge_channel(self, number: int, span: tuple[int, int]) -> list[_Judged]:
        channel, newest = self._channels[number], newest_ms(self._db, [number])
        # Steps are judged whole: from the one that a change falls into, up to the last that is complete.
        memory = max(rule.memory_ms for rule in CHANNEL_RULES)
        start = max(span[0] // STEP_MS * STEP_MS, self._judged_from(memory))
        if newest is None or newest // STEP_MS * STEP_MS <= start:
            return []
        seen = ChannelSituations(self._reader({}), channel, memory)
        subject, spans = Subject(probe=channel.probe, field=channel.field), (start, span[1] + memory)
        until = newest // STEP_MS * STEP_MS
        return [self._judge(rule, subject, _channel_judge(seen, rule), spans, until) for rule in CHANNEL_RULES]

    def _waiting(self) -> dict[str, tuple[int, int]]:
        """Places with something to judge: what changed, and complete steps that were not judged yet."""
        return {p: s for p, s in self._dirty.places.items() if p in self._facts.places}

    def _judge_place(self, place_id: str, span: tuple[int, int]) -> list[_Judged]:
        until = self._complete_until(place_id)
        done = self._cursor(f"judged/{place_id}")
        start = min(span[0], done or span[0]) // STEP_MS * STEP_MS
        if until is None or until <= start:
            return []
        memory = max(rule.memory_ms for rule in PLACE_RULES.values())
        seen = PlaceSituations(self._reader(self._doubts(start - memory, until)), place_id, memory)
        subject, spans = Subject(place_id=place_id), (start, max(span[1], done) + memory)
        self._cursors[f"judged/{place_id}"] = max(until, done)
        raw_start = max(start, self._judged_from(memory))
        return [
            self._judge(rule, subject, _place_judge(seen, rule), (own_start, spans[1]), until)
            for rule in PLACE_RULES.values()
            if (own_start := raw_start if rule.needs_raw else start) < until
        ]

    def _judged_from(self, memory_ms: int) -> int:
        """Where single readings are gone, rules that look at them are not asked again: what they said stands."""
        return 0 if self._raw_from_ms is None else self._raw_from_ms + memory_ms

    def _judge(
        self, rule: PlaceRule | ChannelRule, subject: Subject, judge: Judge, span: tuple[int, int], until: int
    ) -> _Judged:
        """A rule's verdicts from a step on.

        All rules of a subject are cut at the same steps, by their longest memory: what they see is gathered once.
        """
        start, quiet_from = span

        def stored(at: int) -> Verdict | None:
            return open_at(self._connection, rule.name, subject, at)

        verdicts, end = judge_span(judge, stored(start), start, quiet_from, until, lambda at: stored(at) is not None)
        return _Judged(rule, subject, (start, end), tuple(verdicts))

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


def _set_cursor(connection: Connection, name: str, seq: int) -> None:
    own = update(tables.cursor).where(tables.cursor.c.name == name)
    if connection.execute(own.values(seq=seq)).rowcount == 0:
        connection.execute(insert(tables.cursor).values(name=name, seq=seq))


def _says_something(outcome: Outcome) -> bool:
    return bool(outcome.opened or outcome.cleared or outcome.withdrawn or outcome.reopened)


def _since(outcome: Outcome) -> int:
    warnings = (*outcome.opened, *outcome.cleared, *outcome.withdrawn, *outcome.reopened)
    return min(int(w.facts.get("since_ms", to_ms(w.opened_at))) for w in warnings)
