"""Answers `rindwatch replay` from the readings and the records."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy import Connection

from collector.air.read import AirReader
from collector.instants import from_ms, to_ms
from collector.readings.raw_from import raw_from_ms
from collector.readings.reader import channels
from collector.readings.schema import open_reader
from collector.records.engine import open_prepared, reading
from collector.records.facts import Facts, Place, Target
from collector.records.places import load_facts
from collector.records.warnings import logged
from collector.replay import EARLIER_MS, what_if
from collector.rules.model import PlaceRule, Verdict
from collector.rules.place_rules import PLACE_RULES
from collector.settings import Settings
from collector.watch import doubtful_spans


@dataclass(frozen=True, slots=True)
class Asked:
    """A span, a place or all, and what of the target is to be otherwise."""

    from_at: datetime
    to_at: datetime
    place: str | None = None
    temperature_c: tuple[float, float] | None = None
    humidity_pct: tuple[float, float] | None = None
    grace_min: int | None = None

    @property
    def otherwise(self) -> bool:
        return self.temperature_c is not None or self.humidity_pct is not None or self.grace_min is not None


def replayed(settings: Settings, asked: Asked) -> Iterator[str]:
    """A line for each spell that the rules find with what is known today.

    Raises:
        LookupError: a place that nobody named so.
    """
    engine = open_prepared(settings.records_at)
    with closing(open_reader(settings.readings_path)) as db, reading(engine) as connection:
        facts, known = load_facts(connection), channels(db)
        span = to_ms(asked.from_at), to_ms(asked.to_at)
        reader = AirReader(db, facts, doubtful_spans(connection, known, *span), known)
        rules, note = _rules(db, span[0])
        yield from note
        for place in _places(facts, asked.place):
            found = what_if(reader, place.id, _target(facts, place, asked), *span, rules)
            spells = sorted((v for verdicts in found.values() for v in verdicts), key=lambda v: v.opened_ms)
            yield from (_line(place, spell) for spell in spells)
    engine.dispose()


def _rules(db: sqlite3.Connection, from_ms_: int) -> tuple[list[PlaceRule], list[str]]:
    """The rules that can be asked about a span, and a line where some cannot: single readings may be gone there."""
    rules, gone_ms = list(PLACE_RULES.values()), raw_from_ms(db)
    longest = max(rule.memory_ms for rule in rules)
    if gone_ms is None or from_ms_ - EARLIER_MS - longest >= gone_ms:
        return rules, []
    left_out = ", ".join(rule.word for rule in rules if rule.needs_raw)
    note = f"before {from_ms(gone_ms):%Y-%m-%d} only ten-minute means are kept: judged on those, without: {left_out}"
    return [rule for rule in rules if not rule.needs_raw], [note]


def lived(settings: Settings, asked: Asked) -> Iterator[str]:
    """A line for each warning of the log that touches the span: as it was found then, with what became of it."""
    engine = open_prepared(settings.records_at)
    with reading(engine) as connection:
        facts = load_facts(connection)
        chosen = {p.id for p in _places(facts, asked.place)}
        yield from _logged(connection, facts, chosen if asked.place else None, asked)
    engine.dispose()


def _logged(connection: Connection, facts: Facts, chosen: set[str] | None, asked: Asked) -> Iterator[str]:
    for warning in logged(connection, asked.from_at, asked.to_at):
        if chosen is not None and warning.place_id not in chosen:
            continue
        place = facts.places.get(warning.place_id or "")
        about = place.name if place else warning.probe or "rindwatch"
        fate = "withdrawn" if warning.withdrawn_at else ("found late" if warning.found_late else "found in time")
        until = f"{warning.cleared_at:%Y-%m-%d %H:%M}" if warning.cleared_at else "now"
        yield (
            f"{warning.opened_at:%Y-%m-%d %H:%M} to {until}  {about}: {_word(warning.rule)};"
            f" {fate}, {warning.found_at:%Y-%m-%d %H:%M}"
        )


def _places(facts: Facts, name: str | None) -> list[Place]:
    found = [p for p in facts.places.values() if name is None or p.name.lower() == name.lower()]
    if name is not None and not found:
        names = ", ".join(p.name for p in facts.open_places()) or "none yet"
        raise LookupError(f"no place is called {name}; there are {names}")
    return sorted(found, key=lambda p: (p.position, p.name))


def _target(facts: Facts, place: Place, asked: Asked) -> Target | None:
    """Today's target with what was asked to be otherwise; None keeps the targets as they were."""
    current = facts.target_at(place.id, asked.to_at)
    if not asked.otherwise or current is None:
        return None
    temperature = asked.temperature_c or (current.temperature_low_c, current.temperature_high_c)
    humidity = asked.humidity_pct or (current.humidity_low_pct, current.humidity_high_pct)
    return replace(
        current,
        temperature_low_c=temperature[0],
        temperature_high_c=temperature[1],
        humidity_low_pct=humidity[0],
        humidity_high_pct=humidity[1],
        grace_min=current.grace_min if asked.grace_min is None else asked.grace_min,
    )


def _line(place: Place, spell: Verdict) -> str:
    until = f"{from_ms(spell.cleared_ms):%Y-%m-%d %H:%M}" if spell.cleared_ms is not None else "the end"
    return f"{from_ms(spell.opened_ms):%Y-%m-%d %H:%M} to {until}  {place.name}: {_word(spell.rule)}"


def _word(rule: str) -> str:
    return PLACE_RULES[rule].word if rule in PLACE_RULES else rule.replace("_", " ")
