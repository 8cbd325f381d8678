"""What a probe is called, how often it reports, and where the time stands in its messages."""

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import ClassVar

from jsonpointer import escape
from sqlalchemy import Connection

from collector.errors import EntryRefused
from collector.intake.payloads import FieldHints
from collector.intake.payloads.wire_times import time_or_note
from dashboard import links_to, words
from dashboard.forms import Form, of_field
from dashboard.probes.choices import choice, choose
from dashboard.probes.doing import Asked, Doing, DoingPage
from dashboard.visit import Visit
from dashboard.wheels.measures import parse_minutes

LONGEST_NAME, LONGEST_POINTER = 80, 200
SHORTEST_S, LONGEST_S = 10, 86_400  # our choice: a promise beyond a day watches nothing
OTHER = "other"
FORMS = {
    "": "By its looks",
    "s": "Seconds since 1970",
    "ms": "Thousandths of a second since 1970",
    "rfc3339": "A date and time, like 2026-03-12T14:10:00Z",
}
MOST_CANDIDATES, DEEPEST = 8, 6


@dataclass(frozen=True, slots=True)
class NamePage(DoingPage):
    template: ClassVar[str] = "probe_name.html"
    name: str


@dataclass(frozen=True, slots=True)
class PacePage(DoingPage):
    template: ClassVar[str] = "probe_pace.html"
    promised: str


@dataclass(frozen=True, slots=True)
class TimePage(DoingPage):
    template: ClassVar[str] = "probe_time.html"
    candidates: Mapping[str, str]
    forms: Mapping[str, str]


def show_name(visit: Visit, probe: str, _field: str, form: Form | None) -> NamePage:
    with visit.looking() as db:
        chosen = choice(db, probe)
    path = links_to.probe(probe)
    return NamePage(
        "What it is called", path, chosen.name or probe, f"{path}/name", form or Form({"name": chosen.name}), probe
    )


def save_name(db: Connection, asked: Asked) -> str:
    name = " ".join(asked.texts.get("name", "").split())
    if len(name) > LONGEST_NAME:
        raise EntryRefused("name", f"A name may have at most {LONGEST_NAME} characters; this has {len(name)}.")
    choose(db, asked.probe, name=name)
    return f"It is called {name or asked.probe}."


def show_pace(visit: Visit, probe: str, _field: str, form: Form | None) -> PacePage:
    with visit.looking() as db:
        chosen = choice(db, probe)
    path, every = links_to.probe(probe), chosen.at_latest_every_s
    seen = next((one for one in (visit.readings.probes() if visit.readings else []) if one.name == probe), None)
    promised = words.duration(seen.at_latest_every_s) if seen and seen.at_latest_every_s else ""
    default = Form({"every": f"{every / 60:g} min" if every else ""})
    return PacePage("When it reports", path, chosen.name or probe, f"{path}/pace", form or default, promised)


def save_pace(db: Connection, asked: Asked) -> str:
    """Keep the promise; the collector takes it from here to the readings."""
    text = asked.texts.get("every", "").strip()
    try:
        every_s = parse_minutes(text, "min", "the time") * 60 if text else None
    except EntryRefused as refused:
        raise of_field("every", refused) from refused
    if every_s is not None and not SHORTEST_S <= every_s <= LONGEST_S:
        raise EntryRefused("every", f"It must be from 10 seconds to 1 day, got {text}.")
    choose(db, asked.probe, at_latest_every_s=every_s)
    return f"It speaks at the latest every {words.duration(every_s)}." if every_s else "It speaks at its own pace."


def show_time(visit: Visit, probe: str, _field: str, form: Form | None) -> TimePage:
    with visit.looking() as db:
        chosen = choice(db, probe)
    kept = visit.readings.last_messages(probe) if visit.readings else []
    found = dict(time_candidates(kept[0][1])) if kept else {}
    pointer = chosen.time_pointer
    default = {
        "pointer": pointer if pointer in found or not pointer else OTHER,
        "form": chosen.time_form,
        "other": pointer,
    }
    path = links_to.probe(probe)
    candidates = {"": "Found by itself, else when it came", **found, OTHER: "Somewhere else:"}
    return TimePage(
        "Where its time stands", path, chosen.name or probe, f"{path}/time", form or Form(default), candidates, FORMS
    )


def save_time(db: Connection, asked: Asked) -> str:
    texts = asked.texts
    pointer = texts.get("other", "").strip() if texts.get("pointer") == OTHER else texts.get("pointer", "")
    if texts.get("pointer") == OTHER and not pointer:
        raise EntryRefused("other", "Write where the time stands, like /air/time.")
    if len(pointer) > LONGEST_POINTER:
        raise EntryRefused("other", f"It may have at most {LONGEST_POINTER} characters; this has {len(pointer)}.")
    if texts.get("form", "") not in FORMS:
        raise EntryRefused("form", "Take one of the forms in the list.")
    try:
        FieldHints(time_pointer=pointer or None, time_form=texts.get("form") or None)  # type: ignore[arg-type]
    except ValueError as wrong:
        raise EntryRefused("other", f"{wrong}.") from wrong
    choose(db, asked.probe, time_pointer=pointer, time_form=texts.get("form", "") if pointer else "")
    return f"Its time is read from {pointer}." if pointer else "Its time is found by itself."


def time_candidates(payload: bytes) -> Iterator[tuple[str, str]]:
    """Where a time may stand in a message, by JSON Pointer (RFC 6901), with what stands there."""
    try:
        said = json.loads(payload)
    except (ValueError, RecursionError):
        return
    found = 0
    for pointer, value in _leaves(said, "", 0):
        if found < MOST_CANDIDATES and time_or_note(value)[1] == "" and len(pointer) <= LONGEST_POINTER:
            found += 1
            yield pointer, f"{pointer}: {str(value)[:40]}"


def _leaves(said: object, pointer: str, depth: int) -> Iterator[tuple[str, object]]:
    if depth > DEEPEST:
        return
    named = said if isinstance(said, dict) else dict(enumerate(said)) if isinstance(said, list) else None
    if named is None:
        yield pointer, said
        return
    for key, value in named.items():
        yield from _leaves(value, f"{pointer}/{escape(str(key))}", depth + 1)


DOINGS = (Doing("name", save_name, show_name), Doing("pace", save_pace, show_pace), Doing("time", save_time, show_time))
