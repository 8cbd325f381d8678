"""How a wheel leaves the book, and what can be taken out of it; one row each."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Ending:
    """One way to end. `asks_whom`: who has it now; `asks_why`: a reason belongs to it."""

    name: str
    word: str
    asks_whom: bool = False
    asks_why: bool = False


ENDINGS: dict[str, Ending] = {
    row.name: row
    for row in (
        Ending("finished", "finished"),
        Ending("eaten", "eaten"),
        Ending("sold", "sold", asks_whom=True),
        Ending("given", "given away", asks_whom=True),
        Ending("thrown", "thrown away", asks_why=True),
        Ending("lost", "lost", asks_why=True),
    )
}

TAKEN_OUT: dict[str, str] = {"plug": "plug", "slice": "slice", "trim": "trimming", "other": "piece"}

STARTS: dict[str, str] = {"press": "out of the press", "salt": "out of brine or salt", "cave": "into the cave"}
"""The three named weights a wheel can start from, in the order in which they come; loss counts from the last."""
