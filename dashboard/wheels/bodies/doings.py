"""What is done to, seen on and tasted of a wheel."""

from datetime import date
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from dashboard.wheels.bodies.base import (
    At,
    Body,
    Name,
    Part,
    Percent,
    Ph,
    Pieces,
    Ref,
    Scale5,
    TakenG,
    TareG,
    TemperatureC,
    Text,
    WeightG,
    Words,
)


class Weighing(Body):
    """What the scale showed, on which board, wet or dry.

    `start` names one of the three weights a wheel starts from. `insisted`: the person saw the doubt and kept it.
    `typed` is what was typed, as it was typed.
    """

    kind: Literal["weighing"] = "weighing"
    scale_g: WeightG
    board_id: Ref | None = None
    tare_g: TareG = 0
    scale_id: Ref | None = None
    step_g: Annotated[float, Field(gt=0, le=10_000)] | None = None
    wet: bool = False
    start: Literal["press", "salt", "cave"] | None = None
    pieces: Pieces | None = None
    insisted: bool = False
    typed: Words = ""

    @model_validator(mode="after")
    def _more_than_its_board(self) -> Self:
        if self.tare_g >= self.scale_g:
            raise ValueError(f"scale_g must be above the board's {self.tare_g:g} g, got {self.scale_g:g} g")
        return self


class Care(Body):
    """One care of one wheel. `nothing_new`: the rind was looked at and nothing was new."""

    kind: Literal["care"] = "care"
    care: Name
    side: Literal[1, 2] | None = None
    with_what: Words = ""
    salt_g: TakenG | None = None
    nothing_new: bool = False


class Looked(Body):
    """The rind was looked at; by itself that says nothing was new."""

    kind: Literal["looked"] = "looked"
    nothing_new: bool = True


class ShelfPhoto(Body):
    """A photo of all that stands in the place that the entry names.

    Whatever stood there then was looked at; whether something was new, a photo of a shelf does not say.
    """

    kind: Literal["shelf_photo"] = "shelf_photo"

    @model_validator(mode="after")
    def _has_a_photo(self) -> Self:
        if not self.photos:
            raise ValueError("a photo of a shelf needs photos")
        return self


class TookOut(Body):
    """A plug, slice or trimming: its grams, or the wheel's weight before and after."""

    kind: Literal["took_out"] = "took_out"
    what: Literal["plug", "slice", "trim", "other"]
    taken_g: TakenG | None = None
    before_g: WeightG | None = None
    after_g: WeightG | None = None

    @model_validator(mode="after")
    def _lighter_after(self) -> Self:
        if self.before_g is not None and self.after_g is not None and self.after_g > self.before_g:
            raise ValueError(f"after_g must be at most the {self.before_g:g} g before, got {self.after_g:g} g")
        return self


class RindNote(Body):
    """What was seen on the rind. `follows` names the earlier note that this one looks at again; `gone`: it is over."""

    kind: Literal["rind_note"] = "rind_note"
    note: Name
    where: Words = ""
    how_much: Scale5 | None = None
    how_bad: Annotated[int, Field(ge=1, le=3)] | None = None
    first_seen_on: date | None = None
    last_clean_at: At | None = None
    follows: Ref | None = None
    gone: bool = False


class Tasting(Body):
    """Own words, simple scales, a verdict, and what to do next time."""

    kind: Literal["tasting"] = "tasting"
    appearance: Text = ""
    texture: Text = ""
    aroma: Text = ""
    flavour: Text = ""
    salt: Scale5 | None = None
    acid: Scale5 | None = None
    bitter: Scale5 | None = None
    strength: Scale5 | None = None
    moist: Scale5 | None = None
    verdict: Scale5 | None = None
    next_time: Text = ""
    tasters: Words = ""


class Moved(Body):
    """To the place that the entry names; `spot` and `position` say where on the shelf."""

    kind: Literal["moved"] = "moved"
    spot: Words = ""
    position: Annotated[int, Field(ge=0, le=100_000)] | None = None
    board_id: Ref | None = None


class Covered(Body):
    """Another covering from now on; `bare` takes it off. The weights before and after keep it out of the loss."""

    kind: Literal["covered"] = "covered"
    covering: Name
    coats: Annotated[int, Field(ge=1, le=20)] = 1
    before_g: WeightG | None = None
    after_g: WeightG | None = None


class CutPart(Part):
    """One part that goes on as a wheel of its own, and how its cut face was closed."""

    wheel_id: Ref
    code: Words = ""
    weight_g: WeightG | None = None
    share_pct: Percent | None = None
    face: Name = "bare"
    covering: Name | None = None


class Cut(Body):
    """The wheel is cut; each part goes on by itself, and what became of the rest stands here."""

    kind: Literal["cut"] = "cut"
    parts: Annotated[tuple[CutPart, ...], Field(max_length=64)] = ()
    rest: Literal["", "eaten", "sold", "given", "thrown"] = ""
    rest_g: TakenG | None = None
    to_whom: Words = ""


class Lifted(Body):
    """Pieces lifted out of a batch because they differ; they go on as an entry of their own."""

    kind: Literal["lifted"] = "lifted"
    wheel_id: Ref
    pieces: Pieces = 1
    code: Words = ""
    weight_g: WeightG | None = None


class Counted(Body):
    """How many pieces of a batch are there, counted anew."""

    kind: Literal["counted"] = "counted"
    pieces: Annotated[int, Field(ge=0, le=10_000)]


class Ended(Body):
    """Finished, eaten, sold, given away, thrown away or lost: all of it, or so many pieces of a batch."""

    kind: Literal["ended"] = "ended"
    how: Literal["finished", "eaten", "sold", "given", "thrown", "lost"]
    pieces: Pieces | None = None
    amount_g: TakenG | None = None
    to_whom: Words = ""
    reason: Words = ""


class LeftMissed(Body):
    """The missed care is left undone and counting starts today; no care named: all of them."""

    kind: Literal["left_missed"] = "left_missed"
    cares: tuple[Name, ...] = ()


class Chore(Body):
    """Something done for the cave itself."""

    kind: Literal["chore"] = "chore"
    chore: Name
    amount_l: Annotated[float, Field(gt=0, le=10_000)] | None = None


class GearCheck(Body):
    """What was measured or done on a brine tub, wash jar, brush, board or scale."""

    kind: Literal["gear_check"] = "gear_check"
    strength_pct: Percent | None = None
    baume: Annotated[float, Field(ge=0, le=30)] | None = None
    ph: Ph | None = None
    temperature_c: TemperatureC | None = None
    salt_added_g: TakenG | None = None
    boiled: bool = False
    scalded: bool = False
    renewed: bool = False
    checked_with_g: WeightG | None = None
    showed_g: WeightG | None = None


class Note(Body):
    """Words and photos about anything."""

    kind: Literal["note"] = "note"


class Away(Body):
    """From when to when somebody is away, who is on duty, and what they should know."""

    kind: Literal["away"] = "away"
    from_at: At
    to_at: At
    on_duty: Words = ""

    @model_validator(mode="after")
    def _ends_after_it_begins(self) -> Self:
        if self.to_at <= self.from_at:
            raise ValueError("to_at must be after from_at")
        return self


class Withdrawn(Body):
    """The entry that this one replaces did not happen: undo."""

    kind: Literal["withdrawn"] = "withdrawn"
