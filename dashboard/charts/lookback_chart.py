"""The air about a look-back's window as small drawings: lines, band, window, and what stands at the edges; pure."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import ceil, floor

WIDTH, HEIGHT = 340.0, 120.0
LEFT, RIGHT, TOP, BOTTOM = 40.0, 4.0, 6.0, 20.0
LEAST_SPAN = {"humidity": 10.0, "temperature": 4.0}  # our choice: a calm fortnight shall look calm
MOST_POINTS = 400


@dataclass(frozen=True, slots=True)
class Panel:
    """One quantity over time, ready to be drawn.

    Args:
        label: all of it in words. lines: path data, one for each stretch that is known.
        window: x and width. band: y and height of what is neither too much nor too little, None for none.
        marks: y and words at the left edge. days: x and words below.
    """

    label: str
    lines: tuple[str, ...]
    window: tuple[float, float]
    band: tuple[float, float] | None
    marks: tuple[tuple[float, str], ...]
    days: tuple[tuple[float, str], ...]


def panel(
    label: str,
    start_ms: Sequence[int],
    value: Sequence[float | None],
    window: tuple[int, int],
    band: tuple[float | None, float | None],
    least_span: float,
    unit: Callable[[float], str],
    date: Callable[[int], str],
) -> Panel | None:
    """A drawing of one quantity.

    Args:
        start_ms: times, rising, shape (n,) [ms]. value: shape (n,), None where unknown. window: from, to [ms].
        band: low and high limit, None for an open end. least_span: of the scale at the least, in the value's unit.
        unit: a value in words. date: a time in words.
    Returns:
        None where nothing is known.
    """
    known = [v for v in value if v is not None]
    if not known or len(start_ms) < 2:
        return None
    edges = [e for e in band if e is not None]
    low, high = _scale(min(known), max(known), edges, least_span)
    first, last = start_ms[0], start_ms[-1]

    def x(at_ms: float) -> float:
        share = (at_ms - first) / (last - first)
        return round(LEFT + min(max(share, 0.0), 1.0) * (WIDTH - LEFT - RIGHT), 1)

    def y(v: float) -> float:
        share = (v - low) / (high - low)
        return round(HEIGHT - BOTTOM - min(max(share, 0.0), 1.0) * (HEIGHT - TOP - BOTTOM), 1)

    top, bottom = (y(high if band[1] is None else band[1]), y(low if band[0] is None else band[0]))
    return Panel(
        label,
        tuple(_lines(start_ms, value, x, y)),
        (x(window[0]), round(max(x(window[1]) - x(window[0]), 2.0), 1)),
        (top, round(max(bottom - top, 0.0), 1)) if edges else None,
        tuple((y(v), unit(v)) for v in (low, (low + high) / 2, high)),
        tuple((x(at), date(at)) for at in window),
    )


def _scale(least: float, most: float, edges: Sequence[float], least_span: float) -> tuple[float, float]:
    low, high = floor(min(least, *edges, most)), ceil(max(most, *edges, least))
    missing = max(0.0, least_span - (high - low))
    return low - floor(missing / 2), high + ceil(missing / 2)


def _lines(
    start_ms: Sequence[int], value: Sequence[float | None], x: Callable[[float], float], y: Callable[[float], float]
) -> list[str]:
    """Path data of each stretch without a gap; of a long course only every so many points."""
    every = max(1, len(start_ms) // MOST_POINTS)
    paths: list[list[str]] = [[]]
    for at, one in zip(start_ms[::every], value[::every], strict=True):
        if one is None:
            paths.append([])
        else:
            paths[-1].append(f"{x(at):g} {y(one):g}")
    return ["M" + "L".join(points) for points in paths if len(points) > 1]
