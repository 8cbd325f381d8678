"""How the invented wheels leave the book: eaten, given, sold, cut, and one thrown away. Who has them are roles."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from dashboard.wheels.bodies.doings import Cut, CutPart, Ended

# Wheels that are cut in half: (number of the make, letter) -> age [d].
CUT_AGE_D: Mapping[tuple[int, str], int] = {(8, "B"): 92, (5, "A"): 200}


@dataclass(frozen=True, slots=True)
class Snack:
    """Pieces of a batch that go at an age."""

    age_d: int
    ended: Ended


SNACKS: Mapping[int, tuple[Snack, ...]] = {
    18: (
        Snack(20, Ended(how="eaten", pieces=2)),
        Snack(25, Ended(how="given", pieces=3, to_whom="the choir")),
        Snack(29, Ended(how="eaten", pieces=1)),
    ),
}
THROWN: Mapping[tuple[int, str], str] = {(3, "A"): "swollen late, the paste was full of holes"}
WAYS: tuple[Ended, ...] = (
    Ended(how="eaten"),
    Ended(how="given", to_whom="the neighbour"),
    Ended(how="eaten"),
    Ended(how="sold", to_whom="the village shop"),
)


def ending_of(vat: int, letter: str, drawn: Any) -> Ended:
    """How a wheel of a make ends; `drawn` is chance (a numpy Generator)."""
    why = THROWN.get((vat, letter))
    return Ended(how="thrown", reason=why) if why else WAYS[int(drawn.integers(0, len(WAYS)))]


def cut_of(part_id: str, code: str, weight_g: float) -> Cut:
    """Half goes on with its face under wax, half is eaten."""
    part = CutPart(wheel_id=part_id, code=code, weight_g=weight_g, face="wax")
    return Cut(parts=(part,), rest="eaten", rest_g=weight_g)
