"""What a target would have raised in the last month, beside what was asked then."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection

from collector.air.read import AirReader
from collector.readings.reader import Readings
from collector.records.columns import to_ms
from collector.records.facts import Target
from collector.records.places import load_facts
from collector.replay import Replayed, lasted_ms, what_if
from collector.rules.drift import DRIFT_RULES
from collector.rules.leaving import LEAVING
from collector.watch import doubtful_spans
from dashboard import words

TRIED = timedelta(days=30)
RUN_IN = timedelta(days=40)  # longer than what the rules look back, so that doubts of then are known too
RULES = (*DRIFT_RULES, LEAVING)  # those that a target decides


@dataclass(frozen=True, slots=True)
class Line:
    """One kind of warning: how often and how long it would have been, and how often and long it was."""

    word: str
    then: str
    instead: str


def reader_for(db: Connection, readings: Readings, from_at: datetime, to_at: datetime) -> AirReader:
    """Answers for the air within a span, doubtful readings left out."""
    channels = readings.channels()
    doubts = doubtful_spans(db, channels, to_ms(from_at), to_ms(to_at))
    return AirReader(readings.db, load_facts(db), doubts, channels)


def tried(reader: AirReader, place_id: str, target: Target, now_at: datetime) -> tuple[Line, ...]:
    """The warnings of the last month under a target, beside those under the targets that held; kinds with none are
    left out."""
    start, end = to_ms(now_at - TRIED), to_ms(now_at)
    then = what_if(reader, place_id, None, start, end, RULES)
    instead = what_if(reader, place_id, target, start, end, RULES)
    lines = (Line(rule.word, _said(then, rule.name, end), _said(instead, rule.name, end)) for rule in RULES)
    return tuple(line for line in lines if (line.then, line.instead) != ("none", "none"))


def _said(found: Replayed, rule: str, end_ms: int) -> str:
    spells = found[rule]
    if not spells:
        return "none"
    hours = words.duration(sum(lasted_ms(spell, end_ms) for spell in spells) / 1_000)
    return f"{len(spells)}, {hours} in all"
