"""Weight loss of wheels beneath a chart of air, on the same time axis, as plotly's plain dicts; pure."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from dashboard.charts.air_figure import plain
from dashboard.charts.spans import Window
from dashboard.charts.wall_time import wall_text
from dashboard.household import Household

LOSS_AXIS = "y4"
SHARE = 0.30  # of the chart's height
BETWEEN = 0.06
# Told apart by sign and dash too, not by colour alone.
LINES: tuple[dict[str, Any], ...] = (
    {"line": {"color": "--accent", "width": 2}, "marker": {"symbol": "circle", "size": 8, "color": "--accent"}},
    {"line": {"color": "--bad", "dash": "dash"}, "marker": {"symbol": "square", "size": 8, "color": "--bad"}},
    {"line": {"color": "--good", "dash": "dot"}, "marker": {"symbol": "diamond", "size": 9, "color": "--good"}},
    {
        "line": {"color": "--watch", "dash": "dashdot"},
        "marker": {"symbol": "triangle-up", "size": 9, "color": "--watch"},
    },
    {"line": {"color": "--ink", "dash": "longdash"}, "marker": {"symbol": "x", "size": 8, "color": "--ink"}},
    {"line": {"color": "--soft", "width": 2}, "marker": {"symbol": "cross", "size": 9, "color": "--soft"}},
)
MOST_WHEELS = len(LINES)


@dataclass(frozen=True, slots=True)
class LossLine:
    """The loss of one wheel: its code, when it was weighed [ms], and what it had lost [% of its start]."""

    code: str
    at_ms: tuple[int, ...]
    loss_pct: tuple[float, ...]


def with_losses(
    figure: dict[str, Any], losses: Sequence[LossLine], shown: Window, household: Household
) -> dict[str, Any]:
    """A chart of air with the wheels' losses beneath it.

    Args:
        figure: made by `air_figure`; it is left as it is.
        losses: at most `MOST_WHEELS`; weighings outside the window are left out.
    """
    traces = [_line(number, one, shown, household) for number, one in enumerate(losses[:MOST_WHEELS])]
    traces = [trace for trace in traces if trace["x"]]
    if not traces:
        return figure
    layout = {name: _moved_up(part) for name, part in figure["layout"].items()}
    layout["xaxis"] = {**layout["xaxis"], "anchor": LOSS_AXIS}
    layout["yaxis4"] = {
        "title": {"text": "lost %"}, "domain": [0, SHARE - BETWEEN], "fixedrange": True, "rangemode": "tozero",
        "autorange": "reversed",
    }  # fmt: skip
    return {**figure, "data": [*figure["data"], *traces], "layout": layout}


def _moved_up(part: Any) -> Any:
    """An axis with a domain stands above the new panel; everything else stays."""
    if not isinstance(part, dict) or "domain" not in part:
        return part
    return {**part, "domain": [round(SHARE + (1 - SHARE) * end, 4) for end in part["domain"]]}


def _line(number: int, one: LossLine, shown: Window, household: Household) -> dict[str, Any]:
    kept = [
        (at_ms, loss_pct)
        for at_ms, loss_pct in zip(one.at_ms, one.loss_pct, strict=True)
        if shown.from_ms <= at_ms <= shown.to_ms
    ]
    return {
        "type": "scatter", "x": [wall_text(at_ms, household.zone) for at_ms, _ in kept],
        "y": [round(loss_pct, 2) for _, loss_pct in kept], "yaxis": LOSS_AXIS, "name": plain(one.code),
        "mode": "lines+markers", "hovertemplate": "%{y:.1f} % lost", **LINES[number],
    }  # fmt: skip
