"""What was ticked on a printed round, keyed in: entries of all wheels at one time; pure.

Fields are named by what they are and the wheel or place: "turned-<wheel>", "all-<place>", "weight-<wheel>".
"""

from collections.abc import Iterator, Sequence

from collector.errors import EntryRefused
from dashboard.rounds.actions import Action
from dashboard.rounds.entering import OWN_WORD, Known, Sheet, wheel_entries
from dashboard.rounds.model import Row, Shelf
from dashboard.rounds.typed import Asked
from dashboard.wheels.entries import NewEntry


def keyed_entries(shelves: Sequence[Shelf], asked: Asked, sheet: Sheet, known: Known) -> list[NewEntry]:
    """The entries of a filled-in round.

    Raises:
        EntryRefused: a weight that cannot be read; the field is named by its wheel.
    """
    return [entry for shelf in shelves for entry in _of_shelf(shelf, asked, sheet, known)]


def _of_shelf(shelf: Shelf, asked: Asked, sheet: Sheet, known: Known) -> Iterator[NewEntry]:
    for line in shelf.chores:
        if asked.text(f"chore-{shelf.place_id}-{line.name}"):
            yield sheet.entry({"kind": "chore", "chore": line.name}, line.name, shelf.place_id, place_id=shelf.place_id)
    everyone = bool(asked.text(f"all-{shelf.place_id}"))
    for row in shelf.rows:
        yield from _of_wheel(row, asked, sheet, known, everyone)


def _of_wheel(row: Row, asked: Asked, sheet: Sheet, known: Known, everyone: bool) -> Iterator[NewEntry]:
    wheel_id = row.wheel.id
    yield from _touched(row, asked, sheet, everyone and not asked.text(f"not-{wheel_id}"))
    for mark in row.due:
        if asked.text(f"care-{wheel_id}-{mark.care}"):
            yield sheet.entry(Action(mark.care).body({}), mark.care, wheel_id, wheel_id=wheel_id)
    typed = {name: asked.text(f"{name}-{wheel_id}") for name in ("weight", "note", "words")}
    if typed["weight"]:
        said = {"weight": typed["weight"], "board": asked.text(f"board-{wheel_id}")}
        yield from _typed("weighing", said, row, asked, sheet, known)
    if typed["note"] or typed["words"]:
        kind = "rind_note" if typed["note"] else "note"
        said = {"note": OWN_WORD, "own_word": typed["note"], "text": typed["words"]}
        yield from _typed(kind, said, row, asked, sheet, known)


def _touched(row: Row, asked: Asked, sheet: Sheet, all_done: bool) -> Iterator[NewEntry]:
    """Turned, looked at, or both."""
    wheel_id = row.wheel.id
    turned = all_done or bool(asked.text(f"turned-{wheel_id}"))
    clean = all_done or bool(asked.text(f"clean-{wheel_id}"))
    if turned:
        yield sheet.entry(Action("turned", clean).body({}), "turned", wheel_id, wheel_id=wheel_id)
    elif clean:
        yield sheet.entry(Action("looked").body({}), "looked", wheel_id, wheel_id=wheel_id)


def _typed(kind: str, texts: dict[str, str], row: Row, asked: Asked, sheet: Sheet, known: Known) -> Iterator[NewEntry]:
    own = Asked({**texts, "unit": asked.text("unit")}, asked.household, asked.now_at)
    try:
        yield from wheel_entries(kind, row.wheel.id, own, sheet, known)
    except EntryRefused as refused:
        name = f"{refused.field}-{row.wheel.id}"
        raise EntryRefused(name, f"{row.wheel.code or 'A wheel without a code'}: {refused}") from refused
