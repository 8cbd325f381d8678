"""Whether the disk will last."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from collector.records.columns import to_ms
from collector.vigilance.findings import HOUSE, Finding, Look, View
from collector.vigilance.rules import DISK_LOW

LOW_BYTES = 500_000_000  # our choice: about half a year of a home's readings
LOW_SHARE = 0.05  # and no more than this of a small disk
SOON_DAYS = 14  # our choice: time to buy a disk
WELL = 1.2  # times the limit: below it an open warning stays
DAYS_KEPT = 15
LEAST_DAYS = 5  # our choice: of fewer days one big copy is half of all
DAY_MS = 86_400_000
PART = "disk"  # whose sign of life keeps a sample a day


@dataclass(frozen=True, slots=True)
class DiskUse:
    """Room on the disk that holds the readings [bytes]."""

    free: int
    total: int


Sample = tuple[int, int]  # time [ms], free bytes


def days_left(samples: Sequence[Sample], free: int) -> float | None:
    """How long the disk lasts at the pace of the last days.

    Args:
        samples: one a day, oldest first: time [ms] and free bytes. free: bytes now.
    Returns:
        Days; None when fewer than five days are known or nothing is being used up. The pace is the median of the
        days' use, so that one day of copying makes no alarm.
    """
    times = np.array([at for at, _ in samples], dtype=float)
    rooms = np.array([room for _, room in samples], dtype=float)
    if len(samples) <= LEAST_DAYS:
        return None
    pace = float(np.median(-np.diff(rooms) / (np.diff(times) / 86_400_000)))
    return free / pace if pace > 0 else None


class Disk:
    """Looks at the disk, with one sample a day that outlives a restart."""

    def __init__(self, use: Callable[[], DiskUse], samples: Sequence[Sample] = ()) -> None:
        self._use = use
        self.samples = list(samples)

    def sample(self, now: datetime) -> bool:
        """Take the day's sample; True when there is a new one to be kept."""
        at_ms = to_ms(now)
        if self.samples and 0 <= at_ms - self.samples[-1][0] < DAY_MS:
            return False
        earlier = [one for one in self.samples if one[0] < at_ms]
        self.samples = [*earlier[-DAYS_KEPT + 1 :], (at_ms, self._use().free)]
        return True

    def look(self, view: View) -> Look:
        use = self._use()
        left = days_left(self.samples, use.free)
        limit = min(LOW_BYTES, LOW_SHARE * use.total)
        before = view.open.get((DISK_LOW.name, HOUSE))
        slack = WELL if before is not None else 1.0
        low = use.free < limit * slack or (left is not None and left < SOON_DAYS * slack)
        facts = {"free_bytes": use.free, "total_bytes": use.total, "days_left": None if left is None else round(left)}
        if not low:
            return Look(ended={(DISK_LOW.name, HOUSE): (view.now, facts)})
        return Look((Finding(DISK_LOW, view.now, facts=facts),))
