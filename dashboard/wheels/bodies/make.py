"""The make sheet: one vat, everything optional, filled in as the day goes on.

An entry of this kind carries only what was filled in or changed; the sheet is what all of them say together.
"""

from datetime import date
from typing import Annotated, Literal

from pydantic import Field

from dashboard.wheels.bodies.base import (
    At,
    Body,
    Hours,
    Litres,
    Millimetres,
    Minutes,
    Part,
    Percent,
    Ph,
    Ref,
    TemperatureC,
    Text,
    Words,
)

Species = Literal["cow", "goat", "sheep", "buffalo", "other"]
Heat = Literal["raw", "thermised", "pasteurised"]


class Milk(Part):
    """One milk that went into the vat."""

    species: Species = "cow"
    farm: Words = ""
    milking: Words = ""
    lot: Words = ""
    volume_l: Litres | None = None


class Added(Part):
    """A culture, mould powder, rennet or addition, with its packet and how much of it."""

    name: Words
    lot: Words = ""
    amount: Words = ""


class Pressing(Part):
    """One weight on the cheese, for so long."""

    weight_kg: Annotated[float, Field(ge=0, le=10_000)]
    minutes: Minutes | None = None
    from_at: At | None = None


class MakeSheet(Body):
    """One vat. The times end in _at and have each a big "now" button."""

    kind: Literal["make"] = "make"
    code: Words = ""
    style_id: Ref | None = None
    made_on: date | None = None
    milks: tuple[Milk, ...] = ()
    heat: Heat | None = None
    heat_c: TemperatureC | None = None
    heat_min: Minutes | None = None
    cultures: tuple[Added, ...] = ()
    moulds: tuple[Added, ...] = ()
    calcium: Added | None = None
    rennet: Added | None = None
    additions: tuple[Added, ...] = ()
    culture_at: At | None = None
    culture_c: TemperatureC | None = None
    rennet_at: At | None = None
    rennet_c: TemperatureC | None = None
    flocculation_at: At | None = None
    flocculation_factor: Annotated[float, Field(gt=0, le=20)] | None = None
    cut_at: At | None = None
    curd_mm: Millimetres | None = None
    cook_from_at: At | None = None
    cook_to_at: At | None = None
    cook_c: TemperatureC | None = None
    drained_at: At | None = None
    hooped_at: At | None = None
    pressed_at: At | None = None
    pressings: tuple[Pressing, ...] = ()
    ph_milk: Ph | None = None
    ph_draining: Ph | None = None
    ph_hooping: Ph | None = None
    ph_salting: Ph | None = None
    acidity_draining: Words = ""
    acidity_hooping: Words = ""
    acidity_salting: Words = ""
    salted_at: At | None = None
    dry_salt_pct: Percent | None = None
    brine_id: Ref | None = None
    brine_in_at: At | None = None
    brine_h: Hours | None = None
    next_step: Words = ""
    next_at: At | None = None
    moisture_pct: Percent | None = None
    fat_pct: Percent | None = None
    moisture_how: Words = ""
    notes: Text = ""


TIMES = (
    "culture_at",
    "rennet_at",
    "flocculation_at",
    "cut_at",
    "cook_from_at",
    "cook_to_at",
    "drained_at",
    "hooped_at",
    "pressed_at",
    "salted_at",
    "brine_in_at",
)
"""The steps of the day in their order, each with a "now" button."""

OF_THE_DAY = (
    *TIMES,
    "code",
    "made_on",
    "text",
    "photos",
    "next_step",
    "next_at",
    "ph_milk",
    "ph_draining",
    "ph_hooping",
    "ph_salting",
    "acidity_draining",
    "acidity_hooping",
    "acidity_salting",
    "moisture_pct",
    "fat_pct",
    "moisture_how",
    "notes",
)
"""What was measured or happened on one day and is left blank when the make is made again."""
