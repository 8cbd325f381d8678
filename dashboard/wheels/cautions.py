"""Cautions where they belong: raw milk, bags, growths; pure.

This never calls a cheese fit to eat. It says which caution applies and that it cannot see germs. Local rules come
first. No reading of the air and no rule on it turns one of these off; they take no air at all.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date

from dashboard.wheels.kinds.coverings import COVERINGS
from dashboard.wheels.kinds.rind import RIND_KINDS
from dashboard.wheels.minimum_ages import GENERAL, MINIMUM_AGES, MinimumAge

PRACTICE = "common practice, no source"
SOFT_RINDS = frozenset({"bloomy", "washed", "fresh"})
LOCAL_FIRST = "Your local rules come first."


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution: its name, what it says, where that was read, and how grave it is: note, clean or discard."""

    name: str
    words: str
    source: str
    weight: str = "note"


@dataclass(frozen=True, slots=True)
class Cheese:
    """What cautions hang on.

    Args:
        heat: "raw", "thermised", "pasteurised" or None where the make does not say.
        made_on: local date, None if not known.
        rind: of its style. section: of 21 CFR part 133, "" if its style has none.
        covering: what it is under. additions: words of what was put in.
        notes: open rind notes, by kind.
        calls_for: what the household's own kinds call for, by kind.
    """

    heat: str | None = None
    made_on: date | None = None
    rind: str = ""
    section: str = ""
    covering: str = "bare"
    additions: tuple[str, ...] = ()
    notes: frozenset[str] = field(default_factory=frozenset)
    calls_for: tuple[tuple[str, str], ...] = ()

    @property
    def soft(self) -> bool:
        return self.rind in SOFT_RINDS


SIXTY_DAYS = Caution(
    "sixty_days",
    "Sixty days do not take the risk out of soft raw-milk cheese: a trace of Listeria put on its rind had grown to "
    "200 to 1,000 a gram by day 60 at 4 °C, on cheese of raw and of pasteurised milk alike.",
    "D'Amico, Druart, Donnelly 2008, J. Food Prot. 71:1563",
)
WHO_NOT = Caution(
    "who_not",
    "Not for pregnant women, newborns and small children, people over 65 or with weakened immunity.",
    "Joint FDA / Health Canada assessment of soft-ripened cheese, 2015, as reported; small children: common advice",
)
UNSEEN = Caution(
    "unseen",
    "Readings of the cave say nothing about Listeria: every cave that suits cheese suits it. Boards, drains, brushes, "
    "brine and the smear bucket carry it; scald and change them.",
    "Growth limits: EU guidance on Listeria shelf-life studies, 2008; what carries it: " + PRACTICE,
    "clean",
)
BAG = Caution(
    "bag",
    "An airtight bag is no cure: without air a moist, mild cheese needs a second hurdle besides cold (salt, acid or "
    "dryness). Keep it cold, and throw it away if the bag swells or smells.",
    "UK Food Standards Agency, guidance on vacuum and modified atmosphere packed chilled foods",
)
IN_OIL = Caution(
    "in_oil",
    "Herbs, garlic or vegetables with cheese under oil: botulism hazard. Keep it cold and for days, not weeks.",
    "Dairy Food Safety Victoria, technical note, January 2013; how long: " + PRACTICE,
    "clean",
)
MITES = Caution(
    "mites",
    "Mites set off itch and asthma in some people: brush outdoors or with a mask. Every cave that suits a natural rind "
    "suits mites; brushing keeps them down, no humidity of the air does.",
    "Encyclopaedia article on cheese mites (allergy); Exp. Appl. Acarol. 41:243 (dry air did not cure real wheels)",
)
STRANGE_SOFT = Caution(
    "strange_mould",
    "A mould that is not this cheese's own, on a soft cheese: throw it away.",
    "USDA FSIS, Molds on Food: Are They Dangerous?",
    "discard",
)
STRANGE_HARD = Caution(
    "strange_mould",
    "A strange mould on a cut face of hard cheese: cut off at least 1 inch (2.5 cm) around and below, and keep the "
    "knife out of the mould. An unusual overgrowth that nobody knows is a reason to throw it away.",
    "USDA FSIS, Molds on Food; McGee, On Food and Cooking, 2004",
    "clean",
)
RIND_MOULD = Caution(
    "rind_mould",
    "On a natural rind: brush or wipe it, watch it, and write down what you see.",
    PRACTICE,
)
DISCARD = Caution(
    "discard",
    "Throw it away, do not taste it, and clean what it stood on.",
    PRACTICE,
    "discard",
)
APART = Caution(
    "apart",
    "Keep it apart, touch it last, scald its board, and do not taste it until you know what it is.",
    PRACTICE,
    "clean",
)


def cautions_for(cheese: Cheese, today: date) -> list[Caution]:
    """The cautions that belong to a cheese, the gravest first."""
    found = [*_of_notes(cheese), *_of_milk(cheese, today), *_of_covering(cheese)]
    if any(caution.weight != "note" for caution in found) and cheese.notes:
        found.append(UNSEEN)
    order = {"discard": 0, "clean": 1, "note": 2}
    return sorted(dict.fromkeys(found), key=lambda caution: order[caution.weight])


def _of_milk(cheese: Cheese, today: date) -> Iterable[Caution]:
    row = MINIMUM_AGES.get(cheese.section)
    raw = cheese.heat in {"raw", "thermised"}
    if raw or cheese.heat is None or (row is not None and not row.raw_only):
        yield minimum_age(cheese, row or GENERAL, today)
    if raw and cheese.soft:
        yield SIXTY_DAYS
    if raw:
        yield WHO_NOT


def minimum_age(cheese: Cheese, row: MinimumAge, today: date) -> Caution:
    """The legal minimum age, as a sentence about this cheese."""
    milk = f"{cheese.heat.capitalize()} milk" if cheese.heat else "The make does not say whether the milk was raw"
    if cheese.made_on is None:
        age = "it is not known when it was made"
    else:
        ends_on, days = row.ends_on(cheese.made_on), (today - cheese.made_on).days
        age = f"it is {days} days old and gets there on {ends_on}" if today < ends_on else f"it is {days} days old"
    may = "needs" if row.raw_only is False or cheese.heat in {"raw", "thermised"} else "would need"
    words = (
        f"{milk}. In the United States {row.cheese} cheese {may} {row.words} before it is sold; {age}. {LOCAL_FIRST}"
    )
    return Caution("minimum_age", words, row.source)


def _of_covering(cheese: Cheese) -> Iterable[Caution]:
    row = COVERINGS.get(cheese.covering)
    if row is None or not row.air_free or row.name in {"in_brine", "wax", "foil"}:
        return
    yield IN_OIL if row.name == "in_oil" else BAG


def _of_notes(cheese: Cheese) -> Iterable[Caution]:
    own = dict(cheese.calls_for)
    for note in sorted(cheese.notes):
        row = RIND_KINDS.get(note)
        calls_for = row.calls_for if row else own.get(note, "watch")
        if note == "mites":
            yield MITES
        elif note == "unknown_mould":
            yield from (STRANGE_SOFT if cheese.soft else STRANGE_HARD, APART)
        elif calls_for == "discard":
            yield DISCARD
        elif calls_for == "hygiene":
            yield APART
        elif row is not None and row.growth:
            yield STRANGE_SOFT if cheese.rind in {"bloomy", "fresh"} else RIND_MOULD
