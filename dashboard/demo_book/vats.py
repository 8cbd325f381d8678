"""The make sheets of the invented dairy. Milks, cultures and packets are invented; steps are common practice."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from collector.demo.wheels import Wheel
from collector.records.columns import from_ms
from dashboard.demo_book.diary import Diary
from dashboard.demo_book.things import Things
from dashboard.wheels.bodies.make import Added, Heat, MakeSheet, Milk, Pressing

LITRES_PER_KG = 9.5  # of milk for a kilogram out of the press; common practice, no source


@dataclass(frozen=True, slots=True)
class Recipe:
    """How a style is made at this dairy; times count from the rennet [min]."""

    heat: Heat
    culture: str
    cut_min: int
    curd_mm: float
    cook_c: float
    drained_min: int
    press_kg: float
    brine_h: float | None
    dry_salt_pct: float | None
    ph_draining: float
    moulds: tuple[str, ...] = ()


RECIPES: Mapping[str, Recipe] = {
    "natural-rind tomme": Recipe("raw", "mesophilic, farmhouse", 42, 9, 37, 85, 8, 12, None, 6.4),
    "cloth-bound cheddar": Recipe("pasteurised", "mesophilic, slow", 45, 8, 39, 150, 40, None, 2.0, 6.1),
    "alpine": Recipe("raw", "thermophilic", 35, 4, 52, 80, 20, 20, None, 6.5),
    "washed rind": Recipe("pasteurised", "mesophilic, aromatic", 50, 18, 35, 60, 0, None, 1.8, 6.5, ("B. linens",)),
    "blue": Recipe("pasteurised", "mesophilic, aromatic", 60, 15, 32, 120, 0, None, 2.6, 6.4, ("blue mould",)),
    "bloomy": Recipe("pasteurised", "mesophilic, aromatic", 70, 20, 33, 50, 0, None, 1.6, 6.45, ("white mould",)),
    "bagged": Recipe("pasteurised", "mesophilic, farmhouse", 42, 10, 37, 85, 12, 10, None, 6.35),
}


@dataclass(frozen=True, slots=True)
class Vat:
    """One make with its wheels; `number` counts from the oldest."""

    number: int
    id: str
    code: str
    wheels: tuple[Wheel, ...]

    @property
    def style(self) -> str:
        return self.wheels[0].style.name

    @property
    def made_ms(self) -> int:
        return self.wheels[0].made_ms


def vats_of(wheels: tuple[Wheel, ...], diary: Diary) -> list[Vat]:
    """The makes that the wheels came from, the oldest first: a wheel's code is its make's and a letter."""
    by_code: dict[str, list[Wheel]] = {}
    for wheel in wheels:
        by_code.setdefault(wheel.code[:-1], []).append(wheel)
    return [
        Vat(number, diary.photo_id(at_of(own[0].made_ms), f"make {code}"), code, tuple(own))
        for number, (code, own) in enumerate(by_code.items())
    ]


def at_of(ms: int) -> datetime:
    """A moment of the simulation as the book keeps it."""
    return from_ms(ms)


def write_sheet(diary: Diary, vat: Vat, things: Things) -> None:
    """The sheet of a make, as it stood at the end of its day."""
    out_at = at_of(vat.made_ms)
    drawn = diary.chance("vat", vat.number)
    recipe = RECIPES[vat.style]
    fields = {
        "code": vat.code,
        "style_id": things.styles[vat.style],
        "made_on": out_at.date(),
        **_into_the_vat(vat, recipe),
        **_steps(recipe, out_at - timedelta(minutes=recipe.drained_min + 260), drawn),
        **_salt(recipe, things),
        "ph_milk": 6.65,
        "ph_draining": round(recipe.ph_draining + float(drawn.normal(0, 0.04)), 2),
        "ph_salting": round(5.35 + float(drawn.normal(0, 0.05)), 2),
    }
    diary.add(out_at, vat.code, MakeSheet(**fields), make_id=vat.id)


def _into_the_vat(vat: Vat, recipe: Recipe) -> dict[str, Any]:
    litres = round(sum(w.made_g for w in vat.wheels) / 1_000 * LITRES_PER_KG)
    fields: dict[str, Any] = {
        "milks": (Milk(species="cow", farm="own herd", milking="morning", lot=f"M{vat.number:02d}", volume_l=litres),),
        "heat": recipe.heat,
        "cultures": (Added(name=recipe.culture, lot=f"C{vat.number // 6 + 1}", amount="1 %"),),
        "moulds": tuple(
            Added(name=name, lot=f"P{vat.number // 8 + 1}", amount="a knife tip") for name in recipe.moulds
        ),
        "rennet": Added(name="calf rennet", amount=f"{litres * 0.25:.0f} ml"),
    }
    return fields if recipe.heat == "raw" else fields | {"heat_c": 63, "heat_min": 30}


def _steps(recipe: Recipe, rennet_at: datetime, drawn: Any) -> dict[str, Any]:
    return {
        "culture_at": rennet_at - timedelta(minutes=45),
        "rennet_at": rennet_at,
        "flocculation_at": rennet_at + timedelta(minutes=round(11 + float(drawn.normal(0, 1.2)))),
        "cut_at": rennet_at + timedelta(minutes=recipe.cut_min),
        "curd_mm": recipe.curd_mm,
        "cook_c": recipe.cook_c,
        "drained_at": rennet_at + timedelta(minutes=recipe.drained_min),
    }


def _salt(recipe: Recipe, things: Things) -> dict[str, Any]:
    """How it is pressed and salted."""
    half, whole = Pressing(weight_kg=recipe.press_kg / 2, minutes=60), Pressing(weight_kg=recipe.press_kg)
    pressed: dict[str, Any] = {"pressings": (half, whole)} if recipe.press_kg else {}
    if recipe.brine_h:
        return pressed | {"brine_id": things.gear["brine tub"], "brine_h": recipe.brine_h}
    return pressed | {"dry_salt_pct": recipe.dry_salt_pct}
