"""A probe as the pages show it: where it is, how it is, what it said last."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from collector.notify.known import Known
from collector.quantities import QUANTITIES
from collector.readings.model import ProbeSeen
from collector.readings.reader import Readings
from collector.records.columns import from_ms
from collector.records.facts import Place
from collector.records.warnings import CaveWarning
from dashboard import links_to
from dashboard.household import Household
from dashboard.probes.book import Book, is_typed
from dashboard.probes.values import BATTERY, SIGNAL, Value, value
from dashboard.warnings.told import Told, told

ORDER = {name: number for number, name in enumerate(QUANTITIES)}
LOUDNESS = {"note": 0, "warn": 1, "urgent": 2}


@dataclass(frozen=True, slots=True)
class Probe:
    """One probe.

    Args:
        name: as on the wire. called: as people say it. state, state_words: of parts/cards.html.
        values: what it measures. battery, signal: what it says of itself, None when it says nothing.
        checked: words on when its humidity or temperature was checked; "" for what needs no check.
    """

    name: str
    path: str
    check_path: str
    called: str
    typed: bool
    place: Place | None
    site: str
    was_ever_placed: bool
    put_away: bool
    state: str
    state_words: str
    heard_at: datetime
    first_at: datetime
    messages: int
    values: tuple[Value, ...]
    battery: Value | None
    signal: Value | None
    checked_at: datetime | None
    wants_check: bool
    at_latest_every_s: float | None
    version: str
    says: tuple[str, ...]
    faults: tuple[Told, ...]


def probe(book: Book, readings: Readings, known: Known, household: Household, name: str, now_at: datetime) -> Probe:
    """A probe that was heard.

    Raises:
        KeyError: one that never was.
    """
    seen = book.seen[name]
    placed = book.placement(name, now_at)
    values = [value(readings, channel, book.facts, household, now_at) for channel in book.channels.get(name, ())]
    values.sort(key=lambda one: ORDER.get(one.quantity or "", len(ORDER)))
    measured = [one for one in values if one.quantity not in (*BATTERY, *SIGNAL, "uptime")]
    state, state_words = _state(book, seen, now_at)
    check = next((one for one in measured if one.wants_check and one.quantity == "humidity"), None) or next(
        (one for one in measured if one.wants_check), None
    )
    return Probe(
        name=name,
        path=links_to.probe(name),
        check_path=links_to.check(name),
        called=book.called(name),
        typed=is_typed(name),
        place=book.facts.places.get(placed.place_id) if placed and placed.place_id else None,
        site=placed.site if placed else "",
        was_ever_placed=book.was_ever_placed(name),
        put_away=book.choice(name).dismissed_at is not None,
        state=state,
        state_words=state_words,
        heard_at=from_ms(seen.last_ms),
        first_at=from_ms(seen.first_ms),
        messages=seen.messages,
        values=tuple(measured),
        battery=_first(values, BATTERY),
        signal=_first(values, SIGNAL),
        checked_at=check.checked_at if check else None,
        wants_check=check is not None,
        at_latest_every_s=seen.at_latest_every_s,
        version=_said(seen, "version"),
        says=_says(seen),
        faults=tuple(told(one, known, now_at) for one in book.faults.get(name, ())),
    )


def _first(values: Sequence[Value], quantities: Sequence[str]) -> Value | None:
    return next((one for one in values if one.quantity in quantities), None)


def _state(book: Book, seen: ProbeSeen, now_at: datetime) -> tuple[str, str]:
    """How a probe is, in one line; the reasons stand beneath it."""
    faults: Sequence[CaveWarning] = book.faults.get(seen.name, ())
    if book.choice(seen.name).dismissed_at is not None:
        return "unknown", "Put away: nobody waits for it."
    if any(fault.rule == "probe_silent" for fault in faults):
        return "bad", "Silent."
    if faults:
        loudest = max(LOUDNESS.get(fault.severity, 1) for fault in faults)
        return "bad" if loudest == 2 else "watch", "Something is odd about it."
    if seen.state == "offline":
        return "unknown", "It has gone off; the broker says so."
    placed = book.placement(seen.name, now_at)
    if placed is None or placed.place_id is None:
        return "unknown", "It hangs in no place." if placed else "Not placed yet."
    return "good", "Nothing odd about it."


def _says(seen: ProbeSeen) -> tuple[str, ...]:
    """What a probe of ours found wrong with itself."""
    refused, dropped, fault = _said(seen, "refused"), _said(seen, "dropped"), _said(seen, "fault")
    lines = [f"It says: {fault}"] if fault else []
    if refused not in ("", "0"):
        lines.append(f"{refused} values were not sent, since they cannot be")
    if dropped not in ("", "0"):
        lines.append(f"{dropped} readings were lost, since its memory was full")
    return tuple(lines)


def _said(seen: ProbeSeen, name: str) -> str:
    """A text out of what the probe says of itself."""
    try:
        said = json.loads(seen.facts)
    except ValueError:
        return ""
    found = said.get(name) if isinstance(said, dict) else None
    return str(found)[:80] if found is not None else ""
