"""The round as a page shows it; values only."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from dashboard.wheels.book import Gear, Wheel


@dataclass(frozen=True, slots=True)
class DueMark:
    """A care that is due: its name, its words ("brushed, 3 days late"), and whether it is late."""

    care: str
    word: str
    when: str
    overdue: bool


@dataclass(frozen=True, slots=True)
class Row:
    """One wheel on its shelf.

    Args:
        about: style, age, covering, weight in one line. notes: words of open rind notes.
        done: what was done today, in words. pace: that it loses faster or slower than its kind and why, else "".
    """

    wheel: Wheel
    about: str
    due: tuple[DueMark, ...] = ()
    notes: tuple[str, ...] = ()
    done: tuple[str, ...] = ()
    pace: str = ""

    @property
    def overdue(self) -> bool:
        return any(mark.overdue for mark in self.due)


@dataclass(frozen=True, slots=True)
class ChoreLine:
    """A chore of a place: when it was last done, and whether it is due again."""

    name: str
    word: str
    last: str
    due: bool
    litres: bool


@dataclass(frozen=True, slots=True)
class GearLine:
    """A brine tub, wash jar or brush: what was last measured or done, and what its check asks for."""

    gear: Gear
    word: str
    last: str
    flags: tuple[str, ...]
    numbers: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Shelf:
    """One place with its wheels, in the person's order. `inside`: the places around it, in words."""

    place_id: str
    name: str
    inside: str
    rows: tuple[Row, ...]
    chores: tuple[ChoreLine, ...] = ()

    @property
    def overdue(self) -> int:
        return sum(row.overdue for row in self.rows)

    @property
    def due(self) -> int:
        return sum(bool(row.due) for row in self.rows)


@dataclass(frozen=True, slots=True)
class Round:
    """All shelves in the person's order, and the gear."""

    as_of_at: datetime
    shelves: Sequence[Shelf]
    gear: Sequence[GearLine] = ()

    @property
    def wheels(self) -> int:
        return sum(len(shelf.rows) for shelf in self.shelves)

    @property
    def overdue(self) -> int:
        return sum(shelf.overdue for shelf in self.shelves)

    @property
    def overdue_shelves(self) -> int:
        return sum(shelf.overdue > 0 for shelf in self.shelves)

    @property
    def due(self) -> int:
        return sum(shelf.due for shelf in self.shelves)
