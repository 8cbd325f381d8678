"""Finding wheels by code, style, addition, milk and age; pure."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from dashboard.wheels.bodies.make import Added
from dashboard.wheels.book import Make, Wheel
from dashboard.wheels.codes import read_short_code

MONTH_D = 30.44  # a year's twelfth
OLDEST_MONTHS = 600


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is looked for; a blank or None asks for nothing. Ages in days."""

    code: str = ""
    style_id: str = ""
    addition: str = ""
    milk: str = ""
    from_d: int | None = None
    to_d: int | None = None

    @property
    def anything(self) -> bool:
        return self != Wanted()


def wanted(texts: Mapping[str, str]) -> Wanted:
    """What the fields of the search ask for; ages are typed in months, and one that is no number asks for nothing."""
    text = {name: value.strip() for name, value in texts.items()}
    return Wanted(
        text.get("code", ""), text.get("style", ""), text.get("addition", ""), text.get("milk", ""),
        _days(text.get("from", "")), _days(text.get("to", "")),
    )  # fmt: skip


def _days(months: str) -> int | None:
    plain = months.replace(",", ".")
    if not plain.replace(".", "", 1).isdecimal() or float(plain) > OLDEST_MONTHS:
        return None
    return round(float(plain) * MONTH_D)


def matches(wheel: Wheel, make: Make | None, label: str | None, asked: Wanted, today: date) -> bool:
    """Whether a wheel is what is looked for.

    Args:
        make: that it came from, whose milk and additions are its own too.
        label: its short code, if it has one.
    """
    return (
        (not asked.code or _has_code(wheel, label, asked.code))
        and asked.style_id in {"", wheel.style_id}
        and (not asked.milk or asked.milk in species_of(wheel, make))
        and (not asked.addition or asked.addition.casefold() in " / ".join(additions_of(wheel, make)).casefold())
        and _in_age(wheel.age_d(today), asked)
    )


def _has_code(wheel: Wheel, label: str | None, text: str) -> bool:
    return text.casefold() in wheel.code.casefold() or (label is not None and read_short_code(text) == label)


def _in_age(age_d: int | None, asked: Wanted) -> bool:
    if asked.from_d is None and asked.to_d is None:
        return True
    return age_d is not None and (asked.from_d or 0) <= age_d <= (asked.to_d if asked.to_d is not None else age_d)


def species_of(wheel: Wheel, make: Make | None) -> frozenset[str]:
    """The kinds of milk in a wheel: its make's own word, else the wheel's."""
    of_make = frozenset(str(milk.species) for milk in make.sheet.milks) if make else frozenset()
    return of_make or frozenset({str(wheel.sheet.species)} if wheel.sheet.species else ())


def additions_of(wheel: Wheel, make: Make | None) -> list[str]:
    """What was put in, in words: to this wheel, or to its whole vat."""
    found: list[Added] = list(wheel.sheet.additions)
    if make is not None:
        found += make.sheet.additions
    return list(dict.fromkeys(one.name for one in found if one.name))
