"""Where the parts of a band strip lie: a target band, the last day's range, the value now and how sure it is. Pure."""

from collections.abc import Iterable
from dataclasses import dataclass

WIDTH = 320.0  # units of the drawing; templates/parts/strip.html draws it
ROOM = 0.35  # of the band's width, left free on either side


@dataclass(frozen=True, slots=True)
class Span:
    """A part of the strip, in units of the drawing."""

    x: float
    width: float


@dataclass(frozen=True, slots=True)
class Strip:
    """A strip ready to be drawn.

    Args:
        label: the whole strip in words, for those who do not see it.
        low_words, high_words: what stands under the band's ends, "" for an open end.
        outside: "left" or "right" when the value now lies beyond the drawing, else "".
    """

    label: str
    low_words: str
    high_words: str
    band: Span | None
    day: Span | None
    doubt: Span | None
    now_x: float | None
    outside: str


def scale(band: tuple[float | None, float | None] | None, values: Iterable[float | None]) -> tuple[float, float]:
    """Ends of a scale on which the band and the values stand with room on either side.

    Args:
        band: low and high end, None for an open one; None for no band.
        values: further values that must be seen; None is a gap.
    Returns:
        Low end and high end, low < high.
    """
    edges = [edge for edge in band or () if edge is not None]
    seen = edges + [value for value in values if value is not None]
    if not seen:
        return 0.0, 1.0
    width = max(edges) - min(edges) if len(edges) == 2 else max(seen) - min(seen)
    room = ROOM * width if width > 0 else 1.0
    return min(seen) - room, max(seen) + room


def strip(
    label: str,
    ends: tuple[float, float],
    band: tuple[float | None, float | None] | None = None,
    words: tuple[str, str] = ("", ""),
    day: tuple[float, float] | None = None,
    now: float | None = None,
    uncertainty: float = 0.0,
) -> Strip:
    """Places everything on a scale from ends[0] to ends[1], all in one unit.

    Args:
        band: target's low and high end, None for an open end.
        words: the band's ends as words.
        day: lowest and highest value of the last day.
        now: the newest value, None when there is none.
        uncertainty: half the width of what the value may be.
    Raises:
        ValueError: a scale of no width.
    """
    if not ends[0] < ends[1]:
        raise ValueError(f"a strip's scale must go up, got {ends[0]:g} to {ends[1]:g}")
    lowest, highest = ends
    low, high = band or (None, None)
    outside = "" if now is None or lowest <= now <= highest else "left" if now < lowest else "right"
    return Strip(
        label, words[0], words[1],
        _span(lowest if low is None else low, highest if high is None else high, ends) if band else None,
        _span(*day, ends) if day else None,
        _span(now - uncertainty, now + uncertainty, ends) if now is not None and uncertainty > 0 else None,
        None if now is None else _x(now, ends),
        outside,
    )  # fmt: skip


def _x(value: float, ends: tuple[float, float]) -> float:
    share = (value - ends[0]) / (ends[1] - ends[0])
    return round(min(max(share, 0.0), 1.0) * WIDTH, 1)


def _span(low: float, high: float, ends: tuple[float, float]) -> Span:
    x = _x(low, ends)
    return Span(x, round(_x(high, ends) - x, 1))
