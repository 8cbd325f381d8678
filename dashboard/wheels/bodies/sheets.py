"""The sheets of a wheel, a style, a piece of gear, and a kind that a person adds; each entry carries what changed."""

from datetime import date
from typing import Annotated, Literal

from pydantic import Field

from dashboard.wheels.bodies.base import (
    Body,
    Days,
    Millimetres,
    Name,
    Part,
    Percent,
    Pieces,
    Ref,
    TareG,
    TemperatureC,
    WeightG,
    Words,
)
from dashboard.wheels.bodies.make import Added, Heat, Species

Shape = Literal["cylinder", "block", "ball", "pyramid", "other"]
Rind = Literal["natural", "cloth", "bloomy", "washed", "smeared", "blue", "coated", "waxed", "fresh"]


class WheelSheet(Body):
    """One wheel, or a batch of pieces kept together. Own code and starting data may be blank.

    `species` and `heat` stand here for wheels without a make; a make's own field wins.
    """

    kind: Literal["wheel"] = "wheel"
    code: Words = ""
    make_id: Ref | None = None
    style_id: Ref | None = None
    made_on: date | None = None
    pieces: Pieces = 1
    piece_g: WeightG | None = None
    shape: Shape = "cylinder"
    diameter_mm: Millimetres | None = None
    height_mm: Millimetres | None = None
    length_mm: Millimetres | None = None
    additions: tuple[Added, ...] = ()
    species: Species | None = None
    heat: Heat | None = None
    notes: Annotated[str, Field(max_length=4_000)] = ""


class PlanLine(Part):
    """One line of a care plan: this care every so many days, from this age to that one (None: for good)."""

    care: Name
    every_d: Annotated[int, Field(ge=1, le=3_650)]
    from_d: Days = 0
    to_d: Days | None = None


class LossLimit(Part):
    """What a wheel of up to this size usually loses by the end of its ripening, percent of its start."""

    up_to_g: WeightG | None = None
    low_pct: Percent
    high_pct: Percent


class StyleSheet(Body):
    """A style: its care plan in day counts, its ripening window, the air it likes, and what it usually loses."""

    kind: Literal["style"] = "style"
    name: Words = ""
    rind: Rind = "natural"
    plan: tuple[PlanLine, ...] = ()
    ripe_from_d: Days | None = None
    ripe_to_d: Days | None = None
    losses: tuple[LossLimit, ...] = ()
    temperature_low_c: TemperatureC | None = None
    temperature_high_c: TemperatureC | None = None
    humidity_low_pct: Percent | None = None
    humidity_high_pct: Percent | None = None
    minimum_age_section: Words = ""
    preset: Words = ""


class GearSheet(Body):
    """A piece of gear: a board with its tare, a scale with its step, a brine tub, a wash jar, a brush."""

    kind: Literal["gear"] = "gear"
    gear: Name = "board"
    name: Words = ""
    tare_g: TareG | None = None
    step_g: Annotated[float, Field(gt=0, le=10_000)] | None = None
    holds: Words = ""
    retired: bool = False


class OwnKind(Body):
    """A word that the household adds to the lists: a rind note, a care, a chore."""

    kind: Literal["own_kind"] = "own_kind"
    of: Literal["rind_note", "care", "chore"]
    name: Name
    word: Words
    calls_for: Literal["watch", "brush", "mend", "hygiene", "discard"] = "watch"
    retired: bool = False
