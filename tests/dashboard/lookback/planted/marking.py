"""Marks a look-back on planted caves: how often it named the cause first, how often it cried wolf; frozen."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from tests.dashboard.lookback.planted.air import KINDS
from tests.dashboard.lookback.planted.worlds import EPISODES, NO_AIR, RECORDS_D, World, world


@dataclass(frozen=True, slots=True)
class Answer:
    """What a method said: the exposure it put first, and whether it said that this one stands out."""

    first: str
    stands_out: bool


@dataclass(frozen=True, slots=True)
class Marks:
    """Of so many caves: how often the cause was named first, how often it was also said to stand out, how often
    another exposure (any, where there was no cause) was said to stand out."""

    kind: str
    days: int
    episodes: int
    caves: int
    named_first: int
    stood_out: int
    falsely: int


Method = Callable[[World], Answer]


def mark(method: Method, kind: str, days: int, episodes: int, seeds: Iterable[int]) -> Marks:
    """Marks of one row of the table."""
    caves = named = stood = falsely = 0
    for seed in seeds:
        asked = world(seed, days, episodes, kind)
        answer = method(asked)
        right = asked.cause != "" and answer.first == asked.cause
        caves += 1
        named += right
        stood += right and answer.stands_out
        falsely += answer.stands_out and not right
    return Marks(kind, days, episodes, caves, named, stood, falsely)


def table(method: Method, planted: int, none: int) -> Iterator[Marks]:
    """Every row: `planted` caves a cause, `none` caves where no air was to blame."""
    for days in RECORDS_D:
        for episodes in EPISODES:
            for kind in (*KINDS, *NO_AIR):
                yield mark(method, kind, days, episodes, range(planted if kind in KINDS else none))
