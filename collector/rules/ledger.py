"""What a spell adds up to, kept so that adding can be taken up again at any step; pure.

A spell may last for months, and a late reading may change a step in the middle of it. So the sums are entered in a
ledger at each week's end: who judges again from some step on starts from the last entry before it. Entries lie at fixed
times and each is made from the one before it, therefore any cutting ends in the same numbers.
"""

from dataclasses import dataclass

import numpy as np

from collector.air.model import STEP_MS
from collector.readings.model import Millis, Values
from collector.rules.spells import Flags

LEDGER_MS = 7 * 86_400_000  # our choice: the run-in must hold a week, and a year's spell stays at 52 rows
STEP_H = STEP_MS / 3_600_000
DECIMALS = 6

Row = list[float | None]  # at_ms and the fields of `Sums` in their order


@dataclass(frozen=True, slots=True)
class Sums:
    """Sums of a spell up to a time.

    Args:
        dose: excess over the limit, summed over outside steps [unit of the value times h].
        outside_h: time outside [h].
        level_h: the value, summed over known steps [unit of the value times h].
        known_h, unknown_h: time known and not [h].
        worst: the largest of sign * value while outside, None before the first.
    """

    dose: float = 0.0
    outside_h: float = 0.0
    level_h: float = 0.0
    known_h: float = 0.0
    unknown_h: float = 0.0
    worst: float | None = None

    def row(self, at_ms: int) -> Row:
        return [at_ms, self.dose, self.outside_h, self.level_h, self.known_h, self.unknown_h, self.worst]

    @property
    def mean(self) -> float | None:
        """Mean value over the known time, None when nothing was known."""
        return self.level_h / self.known_h if self.known_h > 0 else None


@dataclass(frozen=True, slots=True)
class Judged:
    """What the sums are made of, step by step, shape (n,) each; `sign` is 1 when above the limit is outside."""

    start_ms: Millis
    value: Values
    excess: Values
    outside: Flags
    sign: int


def add_up(judged: Judged, since_ms: int, end: int, rows: list[Row], from_ms: int) -> tuple[Sums, list[Row]]:
    """Sums of a spell and its ledger.

    Args:
        judged: the steps.
        since_ms: the first step that belongs to the spell.
        end: index after its last step.
        rows: the ledger so far, empty for a new spell.
        from_ms: the first step that may differ from what the ledger holds.
    Returns:
        (sums over [since_ms, end), ledger with an entry at each week's end in it). Steps before the air at hand
        that no entry covers are missing from the sums.
    """
    kept = [row for row in rows if _at_ms(row) <= from_ms]
    sums = _read(kept[-1]) if kept else Sums()
    begin = int(np.searchsorted(judged.start_ms, _at_ms(kept[-1]) if kept else since_ms))
    for stop in _week_ends(judged.start_ms, begin, end):
        sums = _added(sums, judged, begin, stop)
        kept.append(sums.row(int(judged.start_ms[stop])))
        begin = stop
    return _added(sums, judged, begin, end), kept


def _week_ends(start_ms: Millis, begin: int, end: int) -> list[int]:
    """Indices in (begin, end) at which a week begins."""
    weeks = start_ms[begin:end] // LEDGER_MS
    return [int(i) for i in begin + 1 + np.flatnonzero(np.diff(weeks))]


def _added(sums: Sums, judged: Judged, begin: int, end: int) -> Sums:
    part = slice(begin, end)
    value, outside = judged.value[part], judged.outside[part]
    known = ~np.isnan(value)
    worst = [] if sums.worst is None else [sums.worst]
    worst += (judged.sign * value[outside]).tolist()
    return Sums(
        dose=_plus(sums.dose, float(judged.excess[part][outside].sum())),
        outside_h=_plus(sums.outside_h, int(outside.sum())),
        level_h=_plus(sums.level_h, float(value[known].sum())),
        known_h=_plus(sums.known_h, int(known.sum())),
        unknown_h=_plus(sums.unknown_h, int((~known).sum())),
        worst=max(worst, default=None),
    )


def _plus(before: float, steps: float) -> float:
    return round(before + steps * STEP_H, DECIMALS)


def _at_ms(row: Row) -> int:
    return int(row[0] or 0)


def _read(row: Row) -> Sums:
    dose, outside_h, level_h, known_h, unknown_h = (float(cell or 0) for cell in row[1:6])
    return Sums(dose, outside_h, level_h, known_h, unknown_h, worst=row[6])
