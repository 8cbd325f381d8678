"""From what was touched or typed to entries of the book; pure but for the checks of the entries themselves."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from collector.errors import EntryRefused
from dashboard.rounds.actions import SHELF_PHOTO, Action
from dashboard.rounds.seeded import seeded_id
from dashboard.rounds.typed import Asked, body_of, done_at, grams
from dashboard.wheels.book import Gear
from dashboard.wheels.entries import NewEntry, read_entry
from dashboard.wheels.kinds.care import CARE_KINDS, MOVING

NEW_BOARD, OWN_WORD = "new", "own"


@dataclass(frozen=True, slots=True)
class Sheet:
    """What all entries of one form share.

    Args:
        seed: from which their ids are made; the form carried it.
        zone: the household's. typed: whether the person said when it was.
    """

    seed: str
    done_at: datetime
    zone: str
    typed: bool = False

    @property
    def group_id(self) -> str:
        return seeded_id(self.seed, "group")

    def entry(self, body: Mapping[str, Any], *about: str, **refs: str | None) -> NewEntry:
        """One entry; `about` tells it from the form's others.

        Raises:
            EntryRefused: it has not the form of an entry.
        """
        named = {name: value for name, value in refs.items() if value}
        return read_entry(
            {
                "id": seeded_id(self.seed, str(body["kind"]), *about),
                "group_id": self.group_id,
                "done_at": self.done_at,
                "zone": self.zone,
                "typed_time": self.typed,
                "body": dict(body),
                **named,
            }
        )


def sheet_of(asked: Asked, *scope: str) -> Sheet:
    """The sheet of a posted form.

    Args:
        scope: what tells it from other forms of the same page, which carry the same seed.
    Raises:
        EntryRefused: no seed, or a time that cannot be read.
    """
    at, typed = done_at(asked)
    try:
        seed = seeded_id(asked.text("seed"), *scope)
    except ValueError as wrong:
        raise EntryRefused("seed", "Open the page again and do it once more.") from wrong
    return Sheet(seed, at, asked.household.time_zone, typed)


def shelf_entries(action: Action, wheel_ids: Sequence[str], sheet: Sheet, asked: Asked) -> list[NewEntry]:
    """The same thing done to several wheels.

    Raises:
        EntryRefused: no wheel, or a field that cannot be read.
    """
    if not wheel_ids:
        raise EntryRefused("wheel", "Mark at least one wheel.")
    kind = CARE_KINDS.get(action.name)
    gear_id = asked.text("gear") if kind and kind.gear else None
    more = _more_of_care(action, asked)
    return [
        sheet.entry(action.body(more), action.name, wheel_id, wheel_id=wheel_id, gear_id=gear_id)
        for wheel_id in wheel_ids
    ]


def _more_of_care(action: Action, asked: Asked) -> dict[str, Any]:
    """With what and on which side, for a care to which that belongs."""
    kind = CARE_KINDS.get(action.name)
    if kind is None:
        return {}
    said = body_of("care", asked)
    wanted = {"with_what": bool(kind.gear), "side": kind.sides}
    return {name: said[name] for name, wants in wanted.items() if wants and name in said}


@dataclass(frozen=True, slots=True)
class Known:
    """What an entry may name: boards and scales by id, and the lists' words by (list, word in small letters)."""

    gear: Mapping[str, Gear] = field(default_factory=dict)
    names: Mapping[tuple[str, str], str] = field(default_factory=dict)


def wheel_entries(kind: str, wheel_id: str, asked: Asked, sheet: Sheet, known: Known) -> list[NewEntry]:
    """What one form of a wheel says: the entry, and before it the board or the word that it brings along.

    Raises:
        EntryRefused: a field that is missing or cannot be read.
    """
    body = body_of(kind, asked)
    before: list[NewEntry] = []
    refs: dict[str, str | None] = {"wheel_id": wheel_id, "replaces": asked.text("replaces") or None}
    if kind == "weighing":
        _needs(body, "scale_g", "weight", "Type the weight first.")
        before = _weighed_on(body, asked, sheet, known)
    elif kind == "rind_note":
        before = _named(body, "note", "rind_note", asked, sheet, known)
    elif kind == "care":
        before = _named(body, "care", "care", asked, sheet, known)
        refs["gear_id"] = asked.text("gear") or None
    elif kind == "took_out":
        _needs(body, "what", "what", "Say what was taken out.")
    return [*before, sheet.entry(body, wheel_id, **refs)]


def place_entries(asked: Asked, place_id: str, sheet: Sheet, known: Known) -> list[NewEntry]:
    """A chore of a place, with the household's own word for it where it is a new one."""
    body = body_of("chore", asked)
    before = _named(body, "chore", "chore", asked, sheet, known)
    return [*before, sheet.entry(body, place_id, place_id=place_id, replaces=asked.text("replaces") or None)]


def shelf_photo_entry(place_id: str, photos: Sequence[str], sheet: Sheet) -> NewEntry:
    """A photo of all that stands in a place; it is of no wheel in particular.

    Raises:
        EntryRefused: no photo was taken.
    """
    if not photos:
        raise EntryRefused("photo", "Take a photo of the shelf first.")
    return sheet.entry({"kind": SHELF_PHOTO, "photos": list(photos)}, place_id, place_id=place_id)


def gear_entries(asked: Asked, gear_id: str, sheet: Sheet) -> list[NewEntry]:
    """A check of a piece of gear; a check that says nothing is no entry.

    Raises:
        EntryRefused: nothing was filled in.
    """
    body = body_of("gear_check", asked)
    if len(body) == 1:
        raise EntryRefused("gear", "Fill in what was measured, or mark what was done.")
    return [sheet.entry(body, gear_id, gear_id=gear_id, replaces=asked.text("replaces") or None)]


def _needs(body: Mapping[str, Any], name: str, field: str, said: str) -> None:
    if name not in body:
        raise EntryRefused(field, said)


def _weighed_on(body: dict[str, Any], asked: Asked, sheet: Sheet, known: Known) -> list[NewEntry]:
    """Put board, tare, scale and its step into a weighing; the entry of a board that is new."""
    body["typed"] = f"{asked.text('weight')} {asked.unit if asked.text('weight')[-1:].isdigit() else ''}".strip()[:120]
    scale = known.gear.get(asked.text("scale"))
    if scale is not None:
        body["scale_id"] = scale.id
        if scale.sheet.step_g is not None:
            body["step_g"] = scale.sheet.step_g
    if asked.text("board") == NEW_BOARD:
        return [_new_board(body, asked, sheet)]
    board = known.gear.get(asked.text("board"))
    if board is not None:
        body |= {"board_id": board.id, "tare_g": board.sheet.tare_g or 0.0}
    return []


def _new_board(body: dict[str, Any], asked: Asked, sheet: Sheet) -> NewEntry:
    name = asked.text("board_name")
    if not name or not asked.text("board_tare"):
        raise EntryRefused("board_name", "Give the new board a name and its weight.")
    tare_g = grams(asked, "board_tare")
    board_id = seeded_id(sheet.seed, "board")
    body |= {"board_id": board_id, "tare_g": tare_g}
    return sheet.entry(
        {"kind": "gear", "gear": "board", "name": name[:120], "tare_g": tare_g}, board_id, gear_id=board_id
    )


def _named(body: dict[str, Any], name: str, of: str, asked: Asked, sheet: Sheet, known: Known) -> list[NewEntry]:
    """The entry of a word that is new in the lists, which the body then names; none where a known one was taken."""
    if body.get(name) not in {None, OWN_WORD}:
        return []
    word = asked.text("own_word")
    if not word:
        raise EntryRefused(name, "Choose what it was, or give it a word of your own.")
    if of == "care" and word.casefold() in MOVING:
        raise EntryRefused("own_word", "To say that it was moved, touch Moved and take the place.")
    listed = known.names.get((of, word.casefold()))
    if listed:
        body[name] = listed
        return []
    body[name] = own_name(seeded_id(sheet.seed, "own_kind", of, word.casefold()))
    return [sheet.entry({"kind": "own_kind", "of": of, "name": body[name], "word": word[:120]}, of, word.casefold())]


def own_name(own_id: str) -> str:
    """The name in the book of a word that the household adds, from the id that its entry grows from."""
    return f"own_{own_id[-12:]}"
