"""The kinds of entry, one row each: its word, its form, and what it must be about."""

from dataclasses import dataclass
from typing import Annotated

from pydantic import Field, TypeAdapter

from dashboard.wheels.bodies.base import Body
from dashboard.wheels.bodies.doings import (
    Away,
    Care,
    Chore,
    Counted,
    Covered,
    Cut,
    Ended,
    GearCheck,
    LeftMissed,
    Lifted,
    Looked,
    Moved,
    Note,
    RindNote,
    ShelfPhoto,
    Tasting,
    TookOut,
    Weighing,
    Withdrawn,
)
from dashboard.wheels.bodies.make import MakeSheet
from dashboard.wheels.bodies.sheets import GearSheet, OwnKind, StyleSheet, WheelSheet

AnyBody = Annotated[
    MakeSheet
    | WheelSheet
    | StyleSheet
    | GearSheet
    | OwnKind
    | Weighing
    | Care
    | Looked
    | ShelfPhoto
    | TookOut
    | RindNote
    | Tasting
    | Moved
    | Covered
    | Cut
    | Lifted
    | Counted
    | Ended
    | LeftMissed
    | Chore
    | GearCheck
    | Note
    | Away
    | Withdrawn,
    Field(discriminator="kind"),
]

BODY: TypeAdapter[Body] = TypeAdapter(AnyBody)


@dataclass(frozen=True, slots=True)
class EntryKind:
    """One kind of entry.

    Args:
        name: as it stands in the book and in every body; never changed once released.
        word: what a person reads.
        about: references without which it means nothing, of wheel_id, make_id, place_id, gear_id, style_id.
        sheet: whether entries of this kind are laid over each other into one sheet.
        seen: whether making it means that the rind was seen.
    """

    name: str
    word: str
    about: tuple[str, ...] = ()
    sheet: bool = False
    seen: bool = False


WHEEL = ("wheel_id",)

ENTRY_KINDS: dict[str, EntryKind] = {
    row.name: row
    for row in (
        EntryKind("make", "make", ("make_id",), sheet=True),
        EntryKind("wheel", "wheel", WHEEL, sheet=True),
        EntryKind("style", "style", ("style_id",), sheet=True),
        EntryKind("gear", "gear", ("gear_id",), sheet=True),
        EntryKind("own_kind", "own word", sheet=True),
        EntryKind("weighing", "weighing", WHEEL),
        EntryKind("care", "care", WHEEL),
        EntryKind("looked", "looked at", WHEEL, seen=True),
        EntryKind("shelf_photo", "photo of the shelf", ("place_id",), seen=True),
        EntryKind("took_out", "took out", WHEEL),
        EntryKind("rind_note", "rind note", WHEEL, seen=True),
        EntryKind("tasting", "tasting", WHEEL),
        EntryKind("moved", "moved", ("wheel_id", "place_id")),
        EntryKind("covered", "covering", WHEEL),
        EntryKind("cut", "cut", WHEEL),
        EntryKind("lifted", "lifted out", WHEEL),
        EntryKind("counted", "counted", WHEEL),
        EntryKind("ended", "end", WHEEL),
        EntryKind("left_missed", "missed care left", WHEEL),
        EntryKind("chore", "chore", ("place_id",)),
        EntryKind("gear_check", "gear looked after", ("gear_id",)),
        EntryKind("note", "note"),
        EntryKind("away", "away"),
        EntryKind("withdrawn", "undone"),
    )
}
