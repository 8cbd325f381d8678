"""An entry corrected: its form as it was typed, and the entry that takes its place while the old one stays.

What a form does not ask (photos, the parts of a cut, where on the shelf) is carried over.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from dashboard.household import Household
from dashboard.moments_typed import for_picker
from dashboard.rounds.entering import Known, Sheet, gear_entries, place_entries, wheel_entries
from dashboard.rounds.typed import FORMS, SHAPES, Asked, body_of, texts_of
from dashboard.wheels.entries import NewEntry
from dashboard.wheels.model import Entry

CORRECTABLE = frozenset(FORMS) | frozenset(SHAPES)
"""Kinds of entry that say what happened. Sheets are laid over each other instead: their own forms change them."""

ON_WHAT = ("board_id", "tare_g", "scale_id", "step_g")
ASKED_ELSEWHERE = {"weighing": (*ON_WHAT, "typed")}
REFS = ("wheel_id", "make_id", "place_id", "gear_id", "style_id")


def body_said(entry: Entry) -> dict[str, Any]:
    """The body of an entry as JSON keeps it, without what was not said."""
    said: dict[str, Any] = entry.body.model_dump(mode="json", exclude_unset=True)
    return said


def form_texts(entry: Entry, household: Household) -> dict[str, str]:
    """The form of an entry as it was typed."""
    body = body_said(entry)
    texts = {"replaces": entry.id, "when": for_picker(entry.happened_at, household), "gear": entry.gear_id or ""}
    texts |= texts_of(entry.kind, body, household)
    if entry.kind == "weighing":
        texts |= {"unit": "g", "board": body.get("board_id") or "", "scale": body.get("scale_id") or ""}
    if entry.kind == "moved":
        texts["place"] = entry.place_id or ""
    return texts


def carried(entry: Entry) -> dict[str, Any]:
    """What a correction takes over because its form does not ask it."""
    form = FORMS.get(entry.kind) or SHAPES[entry.kind]
    asked = {of for of, _read in form.fields.values()} | set(ASKED_ELSEWHERE.get(entry.kind, ())) | {"kind", "insisted"}
    return {name: value for name, value in body_said(entry).items() if name not in asked}


def for_script(entry: Entry, household: Household) -> dict[str, Any]:
    """What the page's own script needs to make the same correction without a signal."""
    body = body_said(entry)
    return {
        "id": entry.id,
        "when": for_picker(entry.happened_at, household),
        "carried": carried(entry),
        "on": {name: body[name] for name in ON_WHAT if name in body},
        "was": as_it_was(entry),
    }


def as_it_was(entry: Entry) -> dict[str, Any]:
    """An entry as a phone would send it anew."""
    refs = {name: getattr(entry, name) for name in REFS if getattr(entry, name)}
    done_at = entry.happened_at.isoformat()
    return {**refs, "done_at": done_at, "zone": entry.zone, "typed_time": True, "body": body_said(entry)}


def corrected(entry: Entry, asked: Asked, sheet: Sheet, known: Known) -> list[NewEntry]:
    """The entries of a filled-in correction; the last one takes the old one's place.

    Args:
        entry: as it stands in the book. asked: its form. sheet: of this correction. known: what it may name.
    Raises:
        EntryRefused: a field that is missing or cannot be read.
    """
    asked = replace(asked, texts={**asked.texts, "replaces": entry.id})
    if asked.text("when") == for_picker(entry.happened_at, asked.household):
        # The picker has no seconds; a time that was not touched stays as exact as it was.
        sheet = replace(sheet, done_at=entry.happened_at)
    *before, new = _typed(entry, asked, sheet, known)
    over = carried(entry)
    if new.kind != entry.kind:  # a rind note that turns out to be a mere remark
        over = {name: value for name, value in over.items() if name == "photos"}
    body = {**over, **new.body.model_dump(mode="json", exclude_unset=True)}
    if entry.kind == new.kind == "weighing":
        body |= _same_board(body, body_said(entry))
    return [*before, sheet.entry(body, entry.id, **_refs(new))]


def _typed(entry: Entry, asked: Asked, sheet: Sheet, known: Known) -> Sequence[NewEntry]:
    kind = entry.kind
    if kind in SHAPES:
        refs = {name: getattr(entry, name) for name in REFS} | {"replaces": entry.id}
        if kind == "moved":
            refs["place_id"] = asked.text("place") or entry.place_id
        return [sheet.entry({**carried(entry), **body_of(kind, asked)}, entry.id, **refs)]
    if kind == "chore":
        return place_entries(asked, entry.place_id or "", sheet, known)
    if kind == "gear_check":
        return gear_entries(asked, entry.gear_id or "", sheet)
    if kind in {"note", "rind_note"}:
        kind = "rind_note" if asked.text("note") or asked.text("own_word") else "note"
    if entry.wheel_id is None:
        refs = {name: getattr(entry, name) for name in REFS} | {"replaces": entry.id}
        return [sheet.entry(body_of(kind, asked), entry.id, **refs)]
    return wheel_entries(kind, entry.wheel_id, asked, sheet, known)


def _refs(new: NewEntry) -> dict[str, str | None]:
    return {name: getattr(new, name) for name in (*REFS, "replaces")}


def _same_board(body: Mapping[str, Any], was: Mapping[str, Any]) -> dict[str, Any]:
    """Tare and step as they were on the day, where board and scale are still the same."""
    found = {}
    for thing, measure in (("board_id", "tare_g"), ("scale_id", "step_g")):
        if body.get(thing) == was.get(thing) and measure in was:
            found[measure] = was[measure]
    return found
