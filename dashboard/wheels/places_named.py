"""Places that somebody's wheels stand in and the household does not have yet, out of what was typed or pasted; pure."""

from collections.abc import Iterable, Mapping

from dashboard.wheels.existing import Found, best_name
from dashboard.wheels.pasted import NOTHING, Pasted

MOST = 12  # our choice: who has more has pasted another column
LONGEST = 40
WORDS = 3
# What a place is called last, and what it is then; common practice, no source.
KINDS: Mapping[str, str] = {
    **dict.fromkeys(("cave", "cellar", "fridge", "room", "cupboard", "pantry", "cabinet", "vault", "larder"), "cave"),
    **dict.fromkeys(("shelf", "board", "rack"), "shelf"),
    **dict.fromkeys(("box", "tub", "crate"), "box"),
    **dict.fromkeys(("counter", "table", "bench"), "counter"),
}


def kind_of(name: str) -> str:
    """What kind of place goes by this name; a cave where nothing says otherwise."""
    return KINDS.get(name.casefold().split()[-1], "cave") if name.split() else "cave"


def in_lines(found: Iterable[Found]) -> list[str]:
    """Places that lines name: a piece that nobody understood, of three words at most, the last of which says place."""
    return _different(piece for one in found if not one.value("place_id") for piece in one.left)


def in_table(table: Pasted, places: Mapping[str, str]) -> list[str]:
    """Cells of the column of places that are none of the household's."""
    numbers = [number for number, column in enumerate(table.columns) if column.kind == "place_id"]
    cells = (row[number].strip() for row in table.rows for number in numbers)
    return _different((c for c in cells if c.casefold() not in NOTHING and best_name(c, places) is None), any_word=True)


def _different(names: Iterable[str], *, any_word: bool = False) -> list[str]:
    """Each once, as it was written first."""
    found: dict[str, str] = {}
    for name in names:
        words = name.strip(" ,;:").split()
        is_place = words and (any_word or (len(words) <= WORDS and words[-1].casefold() in KINDS))
        if is_place and len(" ".join(words)) <= LONGEST:
            found.setdefault(" ".join(words).casefold(), " ".join(words))
    return list(found.values())[:MOST]
