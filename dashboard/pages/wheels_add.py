"""Wheels that somebody already has: a line each, read as a guess, confirmed, and put into the book."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import count
from typing import Any, ClassVar

from fastapi import APIRouter
from pydantic import ValidationError
from sqlalchemy import Connection
from starlette.responses import Response

from collector.errors import EntryRefused
from collector.records.columns import new_id
from dashboard import forms
from dashboard.moments_typed import habits
from dashboard.places.adding import add, open_places
from dashboard.rounds.confirmed import found_in, texts_of
from dashboard.rounds.entering import Sheet, sheet_of
from dashboard.rounds.posted import Form, asked, flagged, many
from dashboard.rounds.seeded import seeded_id
from dashboard.visit import Helper, Texts, Visit
from dashboard.wheels import existing, pasted, places_named
from dashboard.wheels.book import styles, wheels
from dashboard.wheels.bringing_in import entries_for
from dashboard.wheels.entries import NewEntry, Stored, put_all
from dashboard.wheels.existing import Found, Known
from dashboard.wheels.kinds.coverings import COVERINGS
from dashboard.wheels.kinds.styles import STYLES

router = APIRouter()
PATH = "/wheels/add"
MOST_WHEELS = 500  # as many fields as one form may carry
PRESET = "preset:"  # a style that the household has not made its own yet
COLUMN_WORDS = {
    "code": "code", "style_id": "style", "made_on": "day it was made", "weight_g": "weight", "place_id": "place",
    "covering": "covering", "pieces": "pieces", "diameter_mm": "across", "notes": "words", pasted.SKIP: "leave out",
}  # fmt: skip
EXAMPLE = "24-07B tomme 3 Feb 2.1 kg lower fridge"


@dataclass(frozen=True, slots=True)
class AddPage:
    template: ClassVar[str] = "wheels_add.html"
    title: str
    form: forms.Form
    places: Mapping[str, str]
    example: str = EXAMPLE


@dataclass(frozen=True, slots=True)
class ColumnShown:
    """A column of a pasted table: what it was taken for, in words, and its first cell that says something."""

    kind: str
    word: str
    heading: str
    sample: str


@dataclass(frozen=True, slots=True)
class ConfirmPage:
    template: ClassVar[str] = "wheels_add_confirm.html"
    title: str
    form: forms.Form
    lines: Sequence[str]
    problems: Sequence[Sequence[str]]
    places: Mapping[str, str]
    styles: Mapping[str, str]
    coverings: Mapping[str, str]
    seed: str
    unsure: Sequence[Sequence[str]] = ()
    columns: Sequence[ColumnShown] = ()
    raw: str = ""
    place_id: str = ""
    new_places: Sequence[str] = ()
    kinds: Mapping[str, str] = field(default_factory=lambda: COLUMN_WORDS)


def _places(db: Connection) -> dict[str, str]:
    return {place.id: place.name for place, _depth in open_places(db) if place.kind != "outside"}


def _styles(db: Connection) -> dict[str, str]:
    """The household's styles, then those that it could begin with."""
    own = {style.id: style.sheet.name for style in styles(db)}
    names = {name.casefold() for name in own.values()}
    return own | {PRESET + key: sheet.name for key, sheet in STYLES.items() if sheet.name.casefold() not in names}


@router.get(PATH)
def ask(visit: Helper) -> Response:
    return visit.page(_add_page(visit, forms.Form()))


def _add_page(visit: Visit, form: forms.Form) -> AddPage:
    with visit.looking() as db:
        return AddPage("Add wheels", form, {"": "as the lines say", **_places(db)})


@router.post(PATH)
def read(visit: Helper, texts: Texts) -> Response:
    """Read the lines, and show what was understood."""
    form = forms.Form(texts)
    try:
        with visit.changing() as db:
            place_id = _place(db, texts)
            _make_places(db, texts)
        read = _read(visit, texts, place_id)
    except EntryRefused as refused:
        return visit.refused(_add_page(visit, form.wrong(refused.field, str(refused))))
    page = _confirm(visit, forms.Form(texts_of(read.found)), read.found)
    raw, new = texts.get("lines", ""), read.new_places
    return visit.page(replace(page, columns=read.columns, raw=raw, place_id=place_id, new_places=new))


def _place(db: Connection, texts: Mapping[str, str]) -> str:
    """The place of wheels whose line names none: one from the list, or a new one."""
    name = texts.get("new_place", "").strip()
    if name:
        return add(db, name, "cave").id
    return texts.get("place", "")


def _make_places(db: Connection, texts: Mapping[str, str]) -> None:
    """Places that the lines name and the person wants; one that is there by now is left as it is."""
    there = {name.casefold() for name in _places(db).values()}
    for number in range(places_named.MOST):
        name = texts.get(f"make_place-{number}", "").strip()
        if name and name.casefold() not in there:
            add(db, name, places_named.kind_of(name))
            there.add(name.casefold())


@dataclass(frozen=True, slots=True)
class _Read:
    found: Sequence[Found]
    columns: tuple[ColumnShown, ...]
    new_places: Sequence[str]


def _read(visit: Visit, texts: Mapping[str, str], place_id: str) -> _Read:
    lines = texts.get("lines", "")
    if not lines.strip():
        raise EntryRefused("lines", f"Write a line for each wheel, like: {EXAMPLE}.")
    own_habits = habits(visit.household, visit.now_at)
    with visit.looking() as db:
        known = Known(
            {name: key for key, name in _places(db).items()},
            {name: key for key, name in _styles(db).items()},
            frozenset(wheel.code for wheel in wheels(db) if wheel.code),
        )
    unit = _unit(visit)
    columns: tuple[ColumnShown, ...] = ()
    if pasted.is_table(lines):
        table = _confirmed(pasted.read_table(lines, own_habits, known), texts)
        found, columns = pasted.found_in(table, own_habits, known, unit), _columns(table)
        new_places = places_named.in_table(table, known.places)
    else:
        found = existing.read_lines(lines, own_habits, known, unit)
        new_places = places_named.in_lines(found)
    if len(found) > MOST_WHEELS:
        raise EntryRefused("lines", f"Bring in at most {MOST_WHEELS} at a time, got {len(found)}.")
    return _Read([_placed(one, place_id) for one in found], columns, new_places)


def _confirmed(table: pasted.Pasted, texts: Mapping[str, str]) -> pasted.Pasted:
    """The table with its columns as the person said; as guessed where nobody has said anything."""
    kinds = [texts.get(f"column-{number}", column.kind) for number, column in enumerate(table.columns)]
    said = [kind for kind in kinds if kind not in {"notes", pasted.SKIP}]
    twice = next((kind for kind in said if said.count(kind) > 1), None)
    if any(kind not in COLUMN_WORDS for kind in kinds) or twice is not None:
        word = COLUMN_WORDS.get(twice or "", "each")
        raise EntryRefused("lines", f"Only one column can be the {word}.")
    columns = [replace(column, kind=kind) for column, kind in zip(table.columns, kinds, strict=True)]
    return replace(table, columns=tuple(columns))


def _columns(table: pasted.Pasted) -> tuple[ColumnShown, ...]:
    def shown(number: int, column: pasted.Column) -> ColumnShown:
        sample = next((row[number] for row in table.rows if row[number].strip()), "")
        heading = column.heading or f"Column {number + 1}"
        return ColumnShown(column.kind, COLUMN_WORDS[column.kind], heading[:60], sample[:60])

    return tuple(shown(number, column) for number, column in enumerate(table.columns))


def _unit(visit: Visit) -> str:
    return "lb" if visit.household.weight_unit == "lb" else "kg"


def _placed(one: Found, place_id: str) -> Found:
    if not place_id or one.value("place_id"):
        return one
    guess = existing.Guess(place_id, existing.LIKELY, "")
    return Found(one.line, {**one.fields, "place_id": guess}, one.problems)


def _confirm(visit: Visit, form: forms.Form, found: Sequence[Found], seed: str = "") -> ConfirmPage:
    with visit.looking() as db:
        places, offered = _places(db), _styles(db)
    return ConfirmPage(
        f"Is that right? {many(len(found))}", form, [one.line for one in found],
        [[text for _field, text in one.problems] for one in found],
        {"": "nowhere yet", **places}, {"": "not said", **offered},
        {name: row.word for name, row in COVERINGS.items()}, seed or new_id(), [_unsure(one) for one in found],
    )  # fmt: skip


def _unsure(one: Found) -> list[str]:
    """What was read with little ground, with the words it was read from."""
    return [
        f"{COLUMN_WORDS[name]} from {guess.words}" if guess.words else COLUMN_WORDS[name]
        for name, guess in one.fields.items()
        if guess.confidence <= existing.UNSURE and name in COLUMN_WORDS
    ]


@router.post("/wheels/add/keep")
def keep(visit: Helper, posted: Form) -> Response:
    """Put the confirmed wheels into the book."""
    form, said = forms.Form(posted.texts), asked(visit, posted)
    try:
        sheet = sheet_of(said, "add")
        found = found_in(posted.texts, _unit(visit))
        with visit.changing() as db:
            stored = _store(db, visit, found, sheet)
    except EntryRefused as refused:
        lines = [Found(posted.texts[name]) for name in posted.texts if name.startswith("line-")]
        page = _confirm(visit, form.wrong(refused.field, str(refused)), lines, posted.texts.get("seed", ""))
        return visit.refused(page)
    kept = f"In the book: {many(len(found))}. {flagged(stored)}".strip()
    return visit.go("/round", kept, undo=f"/round/undo/{sheet.group_id}?back=/wheels/add")


def _store(db: Connection, visit: Visit, found: Sequence[Found], sheet: Sheet) -> list[Stored]:
    known = _styles(db)
    new_styles: dict[str, NewEntry] = {}
    mine = [_with_style(one, known, new_styles, sheet) for one in found]
    numbers = count()
    try:
        entries = entries_for(
            mine, now_at=visit.now_at, zone=visit.household.time_zone,
            make_id=lambda: seeded_id(sheet.seed, str(next(numbers))), unit_typed=_unit(visit),
        )  # fmt: skip
    except ValidationError as wrong:
        first = wrong.errors(include_url=False)[0]
        what = str(first["loc"][-1]) if first["loc"] else "a line"
        raise EntryRefused("lines", f"{what}: {first['msg']}, got {str(first['input'])[:40]}.") from wrong
    # One touch takes the wheels back; a style stays, since other wheels may live by it by then.
    news = [entry.model_copy(update={"group_id": None}) for entry in new_styles.values()]
    news += [entry.model_copy(update={"group_id": sheet.group_id}) for entry in entries]
    return put_all(db, news, received_at=visit.now_at, who=visit.person.name)


def _with_style(one: Found, known: Mapping[str, str], new: dict[str, NewEntry], sheet: Sheet) -> Found:
    """The wheel with a style of the household's own; one that it begins with is put into the book once."""
    style_id = one.value("style_id")
    if style_id is None or not style_id.startswith(PRESET):
        return one
    preset = STYLES.get(style_id.removeprefix(PRESET))
    if preset is None:
        raise EntryRefused("lines", "Take one of the styles.")
    # The household may have made it its own since the form was shown, by this very form sent once before.
    own_id = next((key for key, name in known.items() if name == preset.name and key != style_id), None)
    if own_id is None:
        own_id = seeded_id(sheet.seed, "style", style_id)
        own = {"preset": style_id.removeprefix(PRESET)}
        body: dict[str, Any] = preset.model_copy(update=own).model_dump(mode="json", exclude_unset=True)
        new.setdefault(style_id, sheet.entry(body, own_id, style_id=own_id))
    guess = existing.Guess(own_id, existing.SURE, "")
    return Found(one.line, {**one.fields, "style_id": guess}, one.problems)
