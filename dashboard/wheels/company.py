"""Who stands badly beside whom: a quiet word when wheels are moved; pure. Common practice, no source."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from dashboard.wheels.kinds.coverings import COVERINGS


@dataclass(frozen=True, slots=True)
class Neighbour:
    """What matters of a wheel to those beside it: its rind, what covers it, and its open rind notes."""

    wheel_id: str
    code: str
    rind: str
    covering: str = "bare"
    notes: frozenset[str] = field(default_factory=frozenset)

    @property
    def open_to_air(self) -> bool:
        row = COVERINGS.get(self.covering)
        return row is None or not row.air_free


@dataclass(frozen=True, slots=True)
class Company:
    """A pair that stands badly: a rind or an open note that gives, the rinds that take, and what to say."""

    gives: str
    takes: frozenset[str]
    words: str


_BARE = frozenset({"natural", "cloth", "smeared", "coated"})
_YOUNG = frozenset({"bloomy", "fresh"})

RINDS: tuple[Company, ...] = (
    Company("blue", _BARE | _YOUNG | {"washed"}, "blue mould travels by air and hand: another shelf, best another box"),
    Company("washed", _YOUNG, "a strong washed rind settles on white ones: a box between them, and touch it last"),
    Company("smeared", _YOUNG, "a smeared rind settles on white ones: a box between them, and touch it last"),
    Company("bloomy", frozenset({"washed", "smeared"}), "white mould settles on washed rinds: a box between them"),
)
NOTES: tuple[Company, ...] = (
    Company("mites", _BARE | {"blue"}, "mites walk: brush that wheel first, outdoors, and scald its board"),
    Company("cat_hair", _BARE | _YOUNG | {"washed"}, "cat hair spreads: clear that wheel first, and touch it last"),
    Company("unknown_mould", _BARE | _YOUNG | {"washed", "blue"}, "nobody knows that mould: keep it apart"),
)


@dataclass(frozen=True, slots=True)
class BadCompany:
    """One word on bad company, and the codes of the wheels on both sides of it."""

    words: str
    gives: tuple[str, ...]
    takes: tuple[str, ...]


def bad_company(coming: Sequence[Neighbour], there: Sequence[Neighbour]) -> list[BadCompany]:
    """What to say when some wheels come to stand beside others; nothing of what lies airtight.

    Args:
        coming: the wheels that are moved; what they already were to each other is not said again.
        there: the wheels that stand there.
    """
    found = []
    for row in (*RINDS, *NOTES):
        for gives, takes in ((coming, there), (there, coming)):
            givers = tuple(n.code for n in gives if n.open_to_air and _gives(row, n))
            takers = tuple(n.code for n in takes if n.open_to_air and n.rind in row.takes)
            if givers and takers:
                found.append(BadCompany(row.words, givers, takers))
    return found


def _gives(row: Company, neighbour: Neighbour) -> bool:
    return neighbour.rind == row.gives or row.gives in neighbour.notes
