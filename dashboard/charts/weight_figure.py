"""A wheel's loss so far and to come, as plotly's plain dicts; pure."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from dashboard.charts.air_figure import CONFIG, RIBBON
from dashboard.charts.wall_time import wall_text
from dashboard.household import Household


@dataclass(frozen=True, slots=True)
class Foreseen:
    """Losses at times [ms], [% of the start]: middle and both ends."""

    at_ms: Sequence[int]
    middle: Sequence[float]
    low: Sequence[float]
    high: Sequence[float]


@dataclass(frozen=True, slots=True)
class LossChart:
    """What is drawn.

    Args:
        weighed: (when [ms], loss) of weighings that fit. odd: of those that do not. last_month, in_target: to come.
        limits: what is usual by `due_ms`, None for nothing.
    """

    weighed: Sequence[tuple[int, float]]
    odd: Sequence[tuple[int, float]]
    last_month: Foreseen
    in_target: Foreseen | None
    limits: tuple[float, float] | None
    due_ms: int


def weight_figure(chart: LossChart, household: Household) -> dict[str, Any]:
    """Loss downwards over time: weighings, the course to come with its ribbon, the usual range on the ready day."""
    data = [_ribbon(chart.last_month, household)]
    data.append(_line("if the air stays as in the last month", chart.last_month, "--accent", "solid", household))
    if chart.in_target is not None:
        data.append(_line("in the air it should have", chart.in_target, "--good", "dash", household))
    data.append(_points("weighed", chart.weighed, {"symbol": "circle", "size": 9, "color": "--ink"}, household))
    if chart.odd:
        look = {"symbol": "x", "size": 9, "color": "--bad"}
        data.append(_points("weighed, does not fit", chart.odd, look, household))
    if chart.limits is not None:
        data.append(_limits(chart.limits, chart.due_ms, household))
    layout = {
        "xaxis": {"type": "date", "fixedrange": True},
        "yaxis": {"title": {"text": "lost %"}, "autorange": "reversed", "fixedrange": True},
        "dragmode": False, "margin": {"l": 48, "r": 12, "t": 12, "b": 40}, "hovermode": "closest",
        "legend": {"orientation": "h", "y": -0.2},
    }  # fmt: skip
    return {"data": data, "layout": layout, "config": CONFIG}


def _texts(at_ms: Sequence[int], household: Household) -> list[str]:
    return [wall_text(at, household.zone) for at in at_ms]


def _rounded(values: Sequence[float]) -> list[float]:
    return [round(value, 2) for value in values]


def _ribbon(course: Foreseen, household: Household) -> dict[str, Any]:
    x = _texts([*course.at_ms, *reversed(course.at_ms)], household)
    return {"type": "scatter", "x": x, "y": _rounded([*course.high, *reversed(course.low)]), **RIBBON}


def _line(name: str, course: Foreseen, colour: str, dash: str, household: Household) -> dict[str, Any]:
    return {
        "type": "scatter", "x": _texts(course.at_ms, household), "y": _rounded(course.middle), "mode": "lines",
        "name": name, "line": {"color": colour, "width": 2, "dash": dash}, "hovertemplate": "%{y:.1f} % lost",
    }  # fmt: skip


def _points(
    name: str, points: Sequence[tuple[int, float]], look: dict[str, Any], household: Household
) -> dict[str, Any]:
    x, y = _texts([at for at, _ in points], household), _rounded([loss for _, loss in points])
    return {
        "type": "scatter", "x": x, "y": y,
        "mode": "markers", "name": name, "marker": look, "hovertemplate": "%{y:.1f} % lost",
    }  # fmt: skip


def _limits(limits: tuple[float, float], due_ms: int, household: Household) -> dict[str, Any]:
    x = _texts([due_ms, due_ms], household)
    return {
        "type": "scatter", "x": x, "y": list(limits), "mode": "lines+markers", "name": "usual for its size",
        "line": {"color": "--watch", "width": 6}, "marker": {"symbol": "line-ew", "size": 12, "color": "--watch"},
        "hovertemplate": "%{y:g} %",
    }  # fmt: skip
