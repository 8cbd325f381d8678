"""When else was the air like this? The windows of a record that are nearest to one; pure."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from collector.readings.model import Values
from dashboard.lookback.windows import Stretches, Window

ALIKE = 0.15  # our choice: on average 15 places of 100 apart, in every exposure


@dataclass(frozen=True, slots=True)
class Spell:
    """A window that was like the one asked about; `distance` is 0 for the same air and at most 1."""

    window: Window
    distance: float


def similar(own: Stretches, pool: Stretches, rows: npt.NDArray[np.bool_], most: int = 5) -> list[Spell]:
    """The nearest windows that overlap neither it nor each other, the nearest first.

    Args:
        own: the window, one row. pool: windows of its length. rows: which of them to take, shape (w,).
        most: how many to find at the most.
    Returns:
        Those within `ALIKE`; none where the air was never alike. Exposures unknown on either side are left out.
    Source: our choice: the root mean square difference of ranks within the record, so that hours, points and pascals
        weigh alike and one wild value does not decide.
    """
    places = np.flatnonzero(rows)
    if not len(places) or not len(own):
        return []
    gaps = [
        _rank_gap(float(own.by_name[name][0]), pool.by_name[name][places])
        for name in own.by_name
        if not np.isnan(own.by_name[name][0])
    ]
    if not gaps:
        return []
    distance = np.sqrt(np.nanmean(np.square(gaps), axis=0))
    found: list[Spell] = []
    for i in np.argsort(distance, kind="stable"):
        window = Window(int(pool.start_ms[places[i]]), int(pool.start_ms[places[i]]) + pool.length_ms)
        if distance[i] > ALIKE or len(found) == most:
            break
        if not any(window.overlap_ms(other.window) for other in found):
            found.append(Spell(window, float(distance[i])))
    return found


def _rank_gap(value: float, others: Values) -> Values:
    """How far each of some values lies from one, in shares of them that lie between; unknown: the middle."""
    ordered = np.sort(others[~np.isnan(others)])
    if not len(ordered):
        return np.zeros(len(others))

    def place(x: Values) -> Values:
        return (np.searchsorted(ordered, x, "left") + np.searchsorted(ordered, x, "right")) / 2 / len(ordered)

    return np.where(np.isnan(others), 0.5, np.abs(place(others) - place(np.array([value]))))
