"""What the forms of an entry offer: kinds of care and rind note, boards, scales, wash jars."""

from dataclasses import dataclass

from sqlalchemy import Connection, select

from dashboard.household import Household
from dashboard.rounds.entering import Known
from dashboard.rounds.gear_lines import FLAG_WORDS, NUMBER_WORDS
from dashboard.wheels import tables
from dashboard.wheels.book import Gear, gear
from dashboard.wheels.kinds.care import CARE_KINDS, MOVING, CareKind
from dashboard.wheels.kinds.chores import CHORE_KINDS
from dashboard.wheels.kinds.endings import STARTS, TAKEN_OUT
from dashboard.wheels.kinds.rind import RIND_KINDS

WHERE = ("top", "bottom", "side", "edge", "all over", "cut face")
HOW_MUCH = {1: "a trace", 2: "a little", 3: "some", 4: "much", 5: "all over"}
HOW_BAD = {1: "harmless", 2: "worth watching", 3: "bad"}
SCALES = {
    "salt": ("Salt", "too little", "too much"), "acid": ("Acid", "flat", "sour"), "bitter": ("Bitter", "none", "very"),
    "strength": ("Strength", "mild", "strong"), "moist": ("Moist", "dry", "wet"),
    "verdict": ("Verdict", "poor", "great"),
}  # fmt: skip
CALLS = {
    "watch": "Usually: watch it.",
    "brush": "Usually: brush or wipe, then watch.",
    "mend": "Usually: mend it.",
    "hygiene": "Keep it apart, touch it last, scald its board. Do not taste it until you know what it is.",
    "discard": "Usually this is thrown away. Do not taste it.",
}
"""What a kind of rind note usually calls for: common practice, no source."""


@dataclass(frozen=True, slots=True)
class RindChoice:
    """A kind of rind note as it is offered: its word, and what it usually calls for, in words."""

    name: str
    word: str
    calls_for: str


@dataclass(frozen=True, slots=True)
class Choices:
    """What this household's forms offer. `unit`: of a weight typed without one."""

    own_cares: tuple[tuple[str, str], ...]
    rind: tuple[RindChoice, ...]
    boards: tuple[Gear, ...]
    scales: tuple[Gear, ...]
    jars: tuple[Gear, ...]
    unit: str

    @property
    def cares(self) -> tuple[CareKind, ...]:
        return tuple(CARE_KINDS.values())

    @property
    def shelf_cares(self) -> tuple[CareKind, ...]:
        """Cares that the round offers for a shelf at once, but for turning, which stands first anyway."""
        return tuple(kind for kind in CARE_KINDS.values() if kind.whole_shelf and kind.name != "turned")


# For templates: the same in every household.
FIXED = {
    "where": tuple((word, word) for word in WHERE), "how_much": HOW_MUCH, "how_bad": HOW_BAD, "scales": SCALES,
    "starts": STARTS, "taken_out": TAKEN_OUT, "flag_words": FLAG_WORDS, "number_words": NUMBER_WORDS,
}  # fmt: skip


def choices(db: Connection, household: Household) -> Choices:
    """What the forms offer now."""
    own = _own_kinds(db)
    rind = [RindChoice(row.name, row.word, CALLS[row.calls_for]) for row in RIND_KINDS.values()]
    rind += [RindChoice(name, word, CALLS[calls]) for of, name, word, calls in own if of == "rind_note"]
    in_use = gear(db, tables.gear.c.retired.is_(False))
    return Choices(
        own_cares=tuple(
            (name, word) for of, name, word, _calls in own if of == "care" and word.casefold() not in MOVING
        ),
        rind=tuple(rind),
        boards=tuple(one for one in in_use if one.gear == "board"),
        scales=tuple(one for one in in_use if one.gear == "scale"),
        jars=tuple(one for one in in_use if one.gear in {"wash", "brush", "brine"}),
        unit="lb" if household.weight_unit == "lb" else "g",
    )


def _own_kinds(db: Connection) -> list[tuple[str, str, str, str]]:
    c = tables.own_kind.c
    rows = db.execute(select(c.of, c.name, c.word, c.calls_for).where(c.retired.is_(False)).order_by(c.word))
    return [(row.of, row.name, row.word, row.calls_for) for row in rows]


def known(db: Connection) -> Known:
    """What an entry may name."""
    names = {("rind_note", row.word.casefold()): row.name for row in RIND_KINDS.values()}
    names |= {("care", care.word.casefold()): care.name for care in CARE_KINDS.values()}
    names |= {("chore", chore.word.casefold()): chore.name for chore in CHORE_KINDS.values()}
    names |= {(of, word.casefold()): name for of, name, word, _calls in _own_kinds(db)}
    return Known({one.id: one for one in gear(db)}, names)
