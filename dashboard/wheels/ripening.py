"""When wheels are ripe, and by when one must be made to be ripe on a day; pure. Windows are a style's own."""

from dataclasses import dataclass
from datetime import date, timedelta


@dataclass(frozen=True, slots=True)
class Window:
    """The first and the last day on which a wheel is ripe; last None: no end is known."""

    first: date
    last: date | None

    def holds(self, day: date) -> bool:
        return self.first <= day and (self.last is None or day <= self.last)


def window(made_on: date | None, from_d: int | None, to_d: int | None) -> Window | None:
    """The ripening window of a wheel.

    Args:
        made_on: local date of making; None is not known. from_d, to_d: the style's window, by age [d].
    Returns:
        None where the day of making or the beginning of the window is not known.
    """
    if made_on is None or from_d is None:
        return None
    return Window(made_on + timedelta(days=from_d), None if to_d is None else made_on + timedelta(days=to_d))


def make_between(day: date, from_d: int | None, to_d: int | None) -> tuple[date | None, date] | None:
    """Between which days to make something that is to be ripe on a day.

    Args:
        day: when it is to be eaten. from_d, to_d: the style's window, by age [d].
    Returns:
        The earliest day (None: the window has no end, so any day before) and the latest; None without a window.
    """
    if from_d is None:
        return None
    return (None if to_d is None else day - timedelta(days=to_d)), day - timedelta(days=from_d)


def on_strip(first: date, last: date | None, begin: date, days: int) -> tuple[float, float] | None:
    """Where a window lies on a strip of days, as shares of its length from its left end.

    Args:
        first, last: the window; last None reaches to the strip's end. begin: the strip's first day. days: its length.
    Returns:
        (left, width), 0..1; None where the window lies outside.
    """
    left = max((first - begin).days, 0)
    right = days if last is None else min((last - begin).days + 1, days)
    return (left / days, (right - left) / days) if right > left else None
