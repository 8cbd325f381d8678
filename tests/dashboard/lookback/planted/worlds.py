"""Invented caves whose rind notes have a cause that is known, so that a look-back can be marked; frozen.

It was written and committed before there was a look-back, and is not changed to suit one. A method gets what a
household has: ten-minute air, what is too damp, too dry and too warm, and for each note when the wheel was last seen
clean, when the note was first seen and how long such a note takes to show. It never gets `cause`.

Stated: one note in ten has nothing to do with the cause (`CAUSED`); one spell in four leaves no note (`SHOWS`); one
delay in ten is longer than such notes take (`LATE`); a round overlooks one note in five (`OVERLOOKED`); up to four
wheels show the same spell (`WHEELS`).
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tests.dashboard.lookback.planted.air import (
    DAY_STEPS,
    FIRST_D,
    KINDS,
    LAST_D,
    STEP_MS,
    Floats,
    Spell,
    air,
    apart,
    known,
    spells,
)

CAUSED, SHOWS, LATE, OVERLOOKED, WHEELS = 0.9, 0.75, 0.1, 0.2, 4
HALF_A_YEAR, ONE_YEAR, THREE_YEARS = 182, 365, 1095
RECORDS_D = (HALF_A_YEAR, ONE_YEAR, THREE_YEARS)
EPISODES = (1, 3, 5)
BEGINS_MS = 1_672_531_200_000  # 1 January 2023
DAY_MS = DAY_STEPS * STEP_MS
NO_AIR = ("chance", "vat", "crowded")
"""What notes come from when no air caused them: at random, a vat's wheels at their age, or all within one season."""


@dataclass(frozen=True, slots=True)
class Note:
    """One rind note of one wheel, as a household knows it; such notes show `short_d` to `long_d` after their cause."""

    wheel: int
    clean_ms: int
    seen_ms: int
    short_d: float
    long_d: float


@dataclass(frozen=True, slots=True)
class World:
    """A cave, its record and its notes. `cause` is the exposure that was planted, "" for none.

    Args:
        grid_ms: start of each ten-minute step. temperature_c, humidity_pct: its means, NaN where nothing is known.
        known: share of each step that is known.
    """

    grid_ms: npt.NDArray[np.int64]
    temperature_c: Floats
    humidity_pct: Floats
    known: Floats
    notes: tuple[Note, ...]
    cause: str


def world(seed: int, days: int, episodes: int, kind: str) -> World:
    """One cave.

    Args:
        seed: the same gives the same. days: length of the record. episodes: how often there was something to note.
        kind: one of `KINDS`, or of `NO_AIR`.
    """
    drawn = np.random.default_rng([seed, days, episodes, sorted((*KINDS, *NO_AIR)).index(kind)])
    found = spells(drawn, days, kind, int(np.ceil(episodes / SHOWS)) + 1 if kind in KINDS else 0)
    temperature, humidity = air(drawn, days, found)
    share = known(drawn, len(humidity))
    gone = share == 0
    planted = kind in KINDS
    notes = _planted(drawn, days, episodes, kind, found) if planted else _not_from_air(drawn, days, episodes, kind)
    return World(
        BEGINS_MS + STEP_MS * np.arange(len(humidity), dtype=np.int64),
        np.where(gone, np.nan, temperature),
        np.where(gone, np.nan, humidity),
        share,
        tuple(notes),
        KINDS[kind].exposure if planted else "",
    )


def _planted(drawn: np.random.Generator, days: int, episodes: int, kind: str, found: list[Spell]) -> list[Note]:
    rounds = _rounds(drawn, days)
    own = [spell.first / DAY_STEPS for spell in found if spell.kind == kind]
    shown = list(drawn.permutation(own)[:episodes])
    begins = [at if drawn.random() < CAUSED else float(drawn.uniform(FIRST_D, days - LAST_D)) for at in shown]
    return [note for number, at in enumerate(begins) for note in _episode(drawn, rounds, number, float(at), kind)]


def _not_from_air(drawn: np.random.Generator, days: int, episodes: int, kind: str) -> list[Note]:
    rounds = _rounds(drawn, days)
    looks_like = str(drawn.choice(sorted(KINDS)))
    if kind == "crowded":
        first = float(drawn.uniform(FIRST_D, days - LAST_D - 100))
        begins = [float(at) for at in first + drawn.uniform(0, 100, episodes)]
    elif kind == "vat":
        # A sick make every so often; its wheels show it at one age, wherever they stand.
        begins = [14.0 * round(at / 14.0) + 2.0 for at in apart(drawn, days - 18, episodes, 14.0)]
    else:
        begins = [float(at) for at in drawn.uniform(FIRST_D, days - LAST_D, episodes)]
    return [note for number, at in enumerate(begins) for note in _episode(drawn, rounds, number, at, looks_like)]


def _rounds(drawn: np.random.Generator, days: int) -> Floats:
    """The days on which somebody looked, two to seven apart."""
    return np.asarray(np.cumsum(drawn.uniform(2, 7, days)))


def _episode(drawn: np.random.Generator, rounds: Floats, number: int, begins_d: float, kind: str) -> list[Note]:
    """The notes that one spell leaves on up to four wheels, each in its own time."""
    row = KINDS[kind]
    notes = []
    for wheel in range(int(drawn.integers(1, WHEELS + 1))):
        delay_d = float(drawn.uniform(row.short_d, row.long_d)) * (1.5 if drawn.random() < LATE else 1.0)
        look = int(np.searchsorted(rounds, begins_d + delay_d))
        look += int(drawn.random() < OVERLOOKED)
        clean_ms, seen_ms = (BEGINS_MS + round(float(rounds[i]) * DAY_MS) for i in (max(look - 1, 0), look))
        notes.append(Note(number * WHEELS + wheel, clean_ms, seen_ms, row.short_d, row.long_d))
    return notes
