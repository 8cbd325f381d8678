"""`rindwatch lookback`: the page of a rind note as lines of text."""

import re
from collections.abc import Iterator

import click
from sqlalchemy import Connection

from collector.clock import SystemClock
from collector.records.engine import open_prepared, reading
from collector.settings import Settings
from dashboard.household_kept import load
from dashboard.lookback_child import look_back_in_child
from dashboard.lookback_shown import LookBackShown, shown
from dashboard.rounds.shelves import look
from dashboard.wheels import tables
from dashboard.wheels.bodies.base import ID_PATTERN
from dashboard.wheels.bodies.doings import RindNote
from dashboard.wheels.book import find
from dashboard.wheels.entry_rows import standing_where
from dashboard.wheels.vat_time import bout_of
from dashboard.wheels_shown.vat_square import VatShown, square_shown


def say(settings: Settings, asked: str) -> str:
    """The look-back of a note, or of the latest note of a wheel.

    Raises:
        ClickException: no such note, or no such wheel, or one without a rind note.
    """
    now_at = SystemClock().now()
    engine = open_prepared(settings.records_at)
    try:
        with reading(engine) as db:
            household = load(db)
            note_id = _note(db, asked)
            bout = bout_of(db, note_id, household.zone)
            if bout is None:
                raise click.ClickException(f"There is no rind note {asked}.")
            looked = look(db, now_at, household)
            square = square_shown(db, bout, looked)
        found = look_back_in_child(settings.readings_path, settings.records_at, note_id, now_at, household.time_zone)
    finally:
        engine.dispose()
    if found is None:
        raise click.ClickException(f"There is no rind note {asked}.")
    return "\n".join(_lines(shown(found, square, looked), square))


def _note(db: Connection, asked: str) -> str:
    if re.match(ID_PATTERN, asked):
        return asked
    here = find(db, asked)
    if not here:
        raise click.ClickException(f"There is no wheel {asked}.")
    c = tables.entry.c
    notes = standing_where(db, c.wheel_id == here[0].id, c.kind == "rind_note")
    seen = [note for note in notes if isinstance(note.body, RindNote) and not note.body.gone]
    if not seen:
        raise click.ClickException(f"Wheel {asked} has no rind note to look back from.")
    return seen[-1].id


def _lines(found: LookBackShown, square: VatShown) -> Iterator[str]:
    yield from (found.what, "", found.headline, *found.lines, *found.doubts, found.window, found.compared)
    yield from ("", "Vat or cave?", f"  {square.headline}", *(f"  {reason}" for reason in square.reasons))
    if found.clean:
        yield f"  {found.clean}"
    yield from ("", "Against the usual:", *(f"  {one.title}: {one.words}" for one in found.strips))
    yield from (f"  {line}" for line in found.care)
    yield from ("", "When else was the air like this?")
    yield from (f"  {one.when}: {one.words}" for one in found.likes)
    if not found.likes:
        yield "  Never much like this at another time on record."
    if square.experience is not None:
        yield from ("", f"What the trade puts it down to ({square.practice.lower()}):")
        yield from (f"  In the air: {square.experience.in_air}", f"  In the make: {square.experience.in_make}")
