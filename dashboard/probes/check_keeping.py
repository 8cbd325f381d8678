"""Keeping what a check found, as a dated fact."""

from collections.abc import Mapping
from datetime import datetime
from math import isnan

from sqlalchemy import Connection

from collector.calibration.fit import fit
from collector.calibration.history import last_check
from collector.calibration.result import SALT, Result, result_of, result_of_comparison
from collector.errors import EntryRefused
from collector.readings.reader import Readings
from collector.records.columns import new_id
from collector.records.facts import Calibration
from collector.records.places import add_fact
from dashboard.probes import check_air, checking
from dashboard.probes.book import Book
from dashboard.probes.checking import Pending
from dashboard.probes.placing import first_reading_at, since_typed
from dashboard.visit import Visit


def keep(
    db: Connection, readings: Readings, book: Book, name: str, pending: Pending, texts: Mapping[str, str], visit: Visit
) -> str:
    """Keep the result of a check that is complete, and end the check.

    Raises:
        EntryRefused: it is not complete, no probe can be so far off, or the date cannot be read.
    """
    found = _result(readings, book, name, pending, visit.now_at)
    since_at = _since(readings, book, name, pending, texts, visit)
    add_fact(
        db,
        Calibration(
            new_id(), since_at, visit.now_at, name, pending.field, found.offset, found.gain, found.uncertainty,
            found.method, found.points, by=visit.person.name,
        ),
    )  # fmt: skip
    checking.drop(db, name)
    return "Kept. The readings from that day on are put right; the chart follows within a minute or so."


def _result(readings: Readings, book: Book, name: str, pending: Pending, now_at: datetime) -> Result:
    channel = check_air.channel_of(book, name, pending.field)
    if channel is None:
        raise EntryRefused("since", "The probe no longer has that field.")
    lives = check_air.habitat_pct(readings, book.facts, channel, now_at)
    true_pct = check_air.USUAL_HUMIDITY_PCT if isnan(lives) else lives
    if pending.points:
        return result_of(fit(pending.points), SALT, true_pct)
    stay = check_air.side_by_side(readings, book, name, pending, now_at) if pending.beside else None
    if stay is None or stay[1].missing:
        raise EntryRefused("since", "The check is not complete yet, so there is nothing to keep.")
    return result_of_comparison(*stay, true_pct)


def _since(
    readings: Readings, book: Book, name: str, pending: Pending, texts: Mapping[str, str], visit: Visit
) -> datetime:
    """From when on it holds."""
    if texts.get("since") == "last":
        last = last_check(book.facts.calibrations.get((name, pending.field), []), visit.now_at)
        if last is None:
            raise EntryRefused("since", "It was not checked before. Say from when on.")
        return last.known_from_at
    first_at = first_reading_at(readings, name, visit.now_at)
    return since_typed(texts, visit.household, visit.now_at, first_at)
