"""What a style's page says of it: plan, window, air and losses in words; pure."""

from collections.abc import Sequence

from dashboard import words
from dashboard.household import Household
from dashboard.places.target_words import band_words
from dashboard.rounds.row_words import OwnWords, age_words, care_word
from dashboard.wheels.bodies.sheets import LossLimit, PlanLine, StyleSheet

AIR = ("temperature_low_c", "temperature_high_c", "humidity_low_pct", "humidity_high_pct")


def plan_words(plan: Sequence[PlanLine], own: OwnWords) -> list[str]:
    """A care plan in words, a line for each care: "turned every day, from 14 days every 3 days"."""
    found: dict[str, list[str]] = {}
    for line in sorted(plan, key=lambda one: one.from_d):
        said = "every day" if line.every_d == 1 else f"every {line.every_d} days"
        start = f"from {age_words(line.from_d)} " if line.from_d else ""
        end = f" until {age_words(line.to_d)}" if line.to_d else ""
        found.setdefault(line.care, []).append(f"{start}{said}{end}")
    return [f"{care_word(care, own)} {', '.join(parts)}" for care, parts in found.items()]


def ripe_words(sheet: StyleSheet) -> str:
    """When it is ripe: "ripe from 60 days until 180 days"; "" where nobody said."""
    start = f" from {age_words(sheet.ripe_from_d)}" if sheet.ripe_from_d is not None else ""
    end = f" until {age_words(sheet.ripe_to_d)}" if sheet.ripe_to_d is not None else ""
    return f"ripe{start}{end}" if start or end else ""


def air_words(sheet: StyleSheet, household: Household) -> str:
    """The air that it likes: "10.0 to 13.0 °C, 85 to 92 %"; "" where nobody said."""
    warm_c = (sheet.temperature_low_c, sheet.temperature_high_c)
    return band_words(warm_c, (sheet.humidity_low_pct, sheet.humidity_high_pct), household)


def loss_words(losses: Sequence[LossLimit], household: Household) -> str:
    """What its wheels lose: "10 to 20 % up to 1 kg, 6 to 12 % above"; "" where nobody said."""
    rows = sorted(losses, key=lambda row: row.up_to_g or float("inf"))
    said = []
    for row in rows:
        size = f" up to {size_word(row.up_to_g, household)}" if row.up_to_g else " above" if len(rows) > 1 else ""
        said.append(f"{row.low_pct:g} to {row.high_pct:g} %{size}")
    return ", ".join(said)


def size_word(up_to_g: float, household: Household) -> str:
    """A size of wheel without needless digits: "4 kg", "800 g", "2 lb 3.3 oz"."""
    said = words.weight(up_to_g, household)
    number, _, unit = said.rpartition(" ")
    return f"{number.rstrip('0').rstrip('.')} {unit}" if unit == "kg" else said


def changed_words(sheet: StyleSheet, household: Household) -> str:
    """What an entry about a style says of it, for the list of changes."""
    said = sheet.model_fields_set
    parts = (
        f"named {sheet.name}" if "name" in said and sheet.name else "",
        f"rind {sheet.rind}" if "rind" in said else "",
        "care plan" if "plan" in said else "",
        (ripe_words(sheet) or "no ripening window") if said & {"ripe_from_d", "ripe_to_d"} else "",
        f"air {air_words(sheet, household) or 'left open'}" if said.intersection(AIR) else "",
        f"loses {loss_words(sheet.losses, household) or 'what it will'}" if "losses" in said else "",
    )
    return "; ".join(part for part in parts if part)
