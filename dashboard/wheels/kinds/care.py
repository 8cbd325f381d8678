"""What is done to a wheel by hand, one row each. Words and hints: common practice, no source."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class CareKind:
    """One kind of care.

    Args:
        name: as it stands in the book; never changed once released.
        word: what a person reads, as something done ("turned").
        gear: the kind of gear it may name (a wash jar, a brush, a board), or "".
        sides: whether it is done to one side at a time.
        wets: whether the wheel weighs more for a while after it.
        whole_shelf: whether the round offers it for a shelf at once.
    """

    name: str
    word: str
    gear: str = ""
    sides: bool = False
    wets: bool = False
    whole_shelf: bool = False


CARE_KINDS: dict[str, CareKind] = {
    row.name: row
    for row in (
        CareKind("turned", "turned", whole_shelf=True),
        CareKind("brushed", "brushed", gear="brush", whole_shelf=True),
        CareKind("patted", "patted down", whole_shelf=True),
        CareKind("washed", "washed", gear="wash", wets=True, whole_shelf=True),
        CareKind("wiped", "wiped", gear="wash", wets=True, whole_shelf=True),
        CareKind("scraped", "scraped"),
        CareKind("rubbed", "rubbed", gear="wash", wets=True, whole_shelf=True),
        CareKind("dry_salted", "dry-salted", sides=True, whole_shelf=True),
        CareKind("brined", "put in brine", gear="brine", wets=True, whole_shelf=True),
        CareKind("oiled", "oiled", wets=True, whole_shelf=True),
        CareKind("pierced", "pierced", sides=True, whole_shelf=True),
        CareKind("sprayed", "sprayed with mould", wets=True, whole_shelf=True),
        CareKind("recoated", "coated again", wets=True),
        CareKind("rewrapped", "wrapped again", whole_shelf=True),
        CareKind("crack_closed", "crack closed"),
        CareKind("board_changed", "put on another board", gear="board", whole_shelf=True),
    )
}

MOVING = frozenset({"moved", "move", "moved to another place"})
"""Words that are no care: where a wheel stands is an entry of its own, which the air before a rind note hangs on."""

PLANNED: dict[str, str] = {"weighed": "weighed", "tasted": "tasted", "looked": "looked at"}
"""What a care plan may also ask for; each is an entry of its own and not a care."""


def planned_word(name: str) -> str:
    """The word of anything that a care plan may ask for; a household's own word stands for itself."""
    row = CARE_KINDS.get(name)
    return row.word if row else PLANNED.get(name, name.replace("_", " "))
