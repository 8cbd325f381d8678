"""What *Vat or cave?* found, in words that match the evidence; pure."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from dashboard.lookback.compared import FACTORS, MAKE, PLACE, Comparison, Finding
from dashboard.lookback.vat_or_cave import Answer, Cell, Square, Verdict

Names = Mapping[tuple[str, str], str]
FINDINGS: Mapping[Finding, str] = {
    "clear": "stands out clearly",
    "stands_out": "stands out",
    "not": "does not stand out",
    "too_small": "numbers too small to tell",
}
HEADLINES: Mapping[Verdict, str] = {
    "vat": "It goes with the vat.",
    "cave": "It goes with the cave.",
    "both": "It goes with the vat and with the cave.",
    "neither": "Neither the vat nor the cave stands out.",
    "too_small": "The numbers are too small to tell.",
    "nothing": "There is nothing to compare with yet: no other wheel of that time was looked at since.",
}
WITHOUT_AIR: Mapping[Verdict, str] = {
    "neither": "No vat stands out.",
    "vat": "It goes with the vat.",
}


@dataclass(frozen=True, slots=True)
class Said:
    """One comparison in words: "brine tub: big tub", "3 of 4 makes", "0 of 5 makes", "stands out"."""

    what: str
    with_it: str
    without: str
    finding: str
    stands_out: bool


@dataclass(frozen=True, slots=True)
class Quarter:
    """One quarter of the square: "2 of 3" and which wheels."""

    count: str
    sick: str
    clean: str
    unseen: str


def headline(answer: Answer, *, air_asked: bool = True) -> str:
    """The answer in a sentence."""
    known = HEADLINES if air_asked else {**HEADLINES, **WITHOUT_AIR}
    return known[answer.verdict]


def reasons(answer: Answer) -> tuple[str, ...]:
    """Why, for one note: the two counts, how they lean where they cannot tell, how likely chance is."""
    if answer.square is None or answer.verdict == "nothing":
        return ()
    square = answer.square
    said = [
        f"Of the same make in other places {of(square.same_make)}; of other makes in the same place "
        f"{of(square.same_place)}; of all the others {of(square.neither)}."
    ]
    lean = leaning(square)
    if answer.verdict == "too_small" and lean:
        said.append(f"As far as they go, these counts would fit the {lean}.")
    return (*said, *_chances("The vat", answer.vats), *_chances("The cave", answer.caves))


def _chances(word: str, side: Sequence[Comparison]) -> list[str]:
    return [f"{word}: {chance(one)}" for one in side if one.stands_out]


def leaning(square: Square) -> str:
    """Which way counts that prove nothing lean: "vat", "cave", or "" for neither."""
    make, place = bool(square.same_make.sick), bool(square.same_place.sick)
    seen = square.same_make.looked_at and (square.same_place.looked_at or square.neither.looked_at)
    if make and not place and seen:
        return "vat"
    return "cave" if place and not make and square.same_make.looked_at else ""


def chance(one: Comparison) -> str:
    """How often chance alone would do as much, the other looks paid for; "" for what does not stand out."""
    if one.adjusted is None or not one.stands_out:
        return ""
    return f"chance alone would do as much in about 1 of {round(1 / one.adjusted)} such records."


def of(cell: Cell) -> str:
    """Sick of how many: "2 of 3", "none was looked at"."""
    return f"{len(cell.sick)} of {cell.looked_at}" if cell.looked_at else "none was looked at"


def quarter(cell: Cell) -> Quarter:
    """One quarter of the square in words."""
    return Quarter(of(cell), ", ".join(cell.sick), ", ".join(cell.clean), ", ".join(cell.unseen))


def said(one: Comparison, names: Names) -> Said:
    """A comparison in words."""
    unit = "make" if one.of_make else "wheel"
    return Said(_what(one, names), _count(one.with_, unit), _count(one.without, unit), _found(one), one.stands_out)


def _what(one: Comparison, names: Names) -> str:
    name = names.get((one.factor, one.value), one.value)
    if one.factor in {MAKE, PLACE}:
        return name
    return f"{FACTORS[one.factor].word}: {name}"


def _count(count: tuple[int, int], unit: str) -> str:
    sick, all_ = count
    return f"{sick} of {all_} {unit}{'' if all_ == 1 else 's'}" if all_ else ""


def _found(one: Comparison) -> str:
    return FINDINGS[one.finding] if one.without[1] else "all had it, so there is nothing to compare with"


def unseen_words(answer: Answer) -> str:
    """How many wheels nobody looked at; "" for none."""
    if not answer.unseen:
        return ""
    many = "1 wheel was" if answer.unseen == 1 else f"{answer.unseen} wheels were"
    return f"{many} not looked at since and not counted: turning alone is not looking."
