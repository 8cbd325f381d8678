"""The chart of a place's air as plotly's plain dicts, made without the library."""

import html
from typing import Any

import numpy as np

from collector.readings.model import Millis, Values
from dashboard.charts.air_layout import air_layout
from dashboard.charts.drawing import Drawing, Drawn
from dashboard.charts.marks import Lane
from dashboard.charts.panels import AXES, LANE_AXIS, Panel, in_unit, unit_word
from dashboard.charts.wall_time import WallTimes, wall_text, wall_times
from dashboard.household import Household

LINES: dict[str, dict[str, Any]] = {
    "main": {"color": "--accent", "width": 2},
    "dew": {"color": "--unknown", "width": 1.5, "dash": "dot"},
    "surface": {"color": "--good", "width": 1.5, "dash": "dashdot"},
    "probe": {"color": "--range", "width": 1},
    "other": {"color": "--soft", "width": 1.5, "dash": "longdash"},
    "doubtful": {"color": "--bad", "width": 1, "dash": "dash"},
}
HOLLOW = {"symbol": "circle-open", "size": 6, "color": "--bad"}
RIBBON = {
    "mode": "lines", "line": {"width": 0}, "fill": "toself", "fillcolor": "--range", "opacity": 0.35,
    "hoverinfo": "skip", "showlegend": False,
}  # fmt: skip
CONFIG = {"displayModeBar": False}  # the page has buttons of its own, large enough for a thumb
DIGITS: dict[Panel, int] = {"temperature": 2, "humidity": 1}


def air_figure(drawn: Drawing, household: Household) -> dict[str, Any]:
    """The figure: lines with their ribbons, the bands' word in the legend, and rows of marks."""
    traces = _Traces(drawn, household)
    data = [trace for line in drawn.lines for trace in traces.of(line)]
    if drawn.temperature_bands or drawn.humidity_bands:
        data.append(BAND_KEY)
    data += [_lane(number, lane, household) for number, lane in enumerate(drawn.lanes)]
    return {"data": data, "layout": air_layout(drawn, household), "config": CONFIG}


# The legend's word for the bands, which are drawn as shapes.
BAND_KEY: dict[str, Any] = {
    "type": "scatter", "x": [None], "y": [None], "mode": "markers", "name": "target", "hoverinfo": "skip",
    "marker": {"symbol": "square", "size": 14, "color": "--band"},
}  # fmt: skip


class _Traces:
    """Lines as traces. Lines of one course share their times, and the work for them."""

    def __init__(self, drawn: Drawing, household: Household) -> None:
        self.drawn, self.household = drawn, household
        self._times: dict[int, WallTimes] = {}

    def times(self, at_ms: Millis) -> WallTimes:
        if id(at_ms) not in self._times:
            self._times[id(at_ms)] = wall_times(at_ms, self.household.zone, seconds=self.drawn.shown.is_short)
        return self._times[id(at_ms)]

    def of(self, line: Drawn) -> list[dict[str, Any]]:
        times = self.times(line.at_ms)
        trace = {
            "type": "scatter", "x": times.laid_out_texts(), "y": times.laid_out(self._numbers(line.value, line)),
            "yaxis": AXES[line.panel], "name": plain(line.name), "mode": "lines+markers" if line.points else "lines",
            "line": LINES[line.style], "hovertemplate": f"%{{y:.1f}} {unit_word(line.panel, self.household)}",
            "legendgroup": plain(line.name), "showlegend": self._is_first(line),
        }  # fmt: skip
        if line.points:
            own = {"size": 7, "color": LINES[line.style]["color"]}
            trace["marker"] = HOLLOW if line.style == "doubtful" else own
        return [*self._ribbon(line, times), trace]

    def _numbers(self, value: Values, line: Drawn) -> list[float | None]:
        return gaps_as_none(in_unit(value, line.panel, self.household), DIGITS[line.panel])

    def _is_first(self, line: Drawn) -> bool:
        """The same name in both panels stands once in the legend."""
        return next(other for other in self.drawn.lines if other.name == line.name) is line

    def _ribbon(self, line: Drawn, times: WallTimes) -> list[dict[str, Any]]:
        """What lay between lowest and highest, as one closed shape for each stretch without a gap."""
        if line.low is None or line.high is None or not np.nanmax(line.high - line.low) > 0:
            return []
        low, high = self._numbers(line.low, line), self._numbers(line.high, line)
        known = ~(np.isnan(line.low) | np.isnan(line.high))
        x: list[str | None] = []
        y: list[float | None] = []
        for begin, end in _stretches(known, times.breaks.tolist()):
            texts = times.texts[begin:end]
            x += [*texts, *texts[::-1], None]
            y += [*high[begin:end], *low[begin:end][::-1], None]
        return [{"type": "scatter", "x": x, "y": y, "yaxis": AXES[line.panel], **RIBBON}]


def _stretches(known: "np.typing.NDArray[np.bool_]", breaks: list[int]) -> list[tuple[int, int]]:
    """Runs of known points, cut at the breaks: index of the first, index after the last."""
    edges = np.diff(np.concatenate([[0], known.astype(np.int8), [0]]))
    runs = list(zip(np.flatnonzero(edges == 1).tolist(), np.flatnonzero(edges == -1).tolist(), strict=True))
    for cut in breaks:
        runs = [piece for a, b in runs for piece in (((a, cut), (cut, b)) if a < cut < b else ((a, b),))]
    return runs


def _lane(number: int, lane: Lane, household: Household) -> dict[str, Any]:
    """A row of marks: a sign where something began, a bar for as long as it lasted."""
    x: list[str | None] = []
    text: list[str | None] = []
    for mark in lane.marks:
        ends = [mark.at_ms] if mark.to_ms is None else [mark.at_ms, mark.to_ms]
        x += [*(wall_text(at, household.zone) for at in ends), None]
        text += [*([plain(mark.words)] * len(ends)), None]
    kind = lane.kind
    return {
        "type": "scatter", "x": x, "y": [None if at is None else number for at in x], "yaxis": LANE_AXIS, "text": text,
        "mode": "lines+markers", "line": {"color": kind.colour, "width": 6}, "name": kind.word, "showlegend": False,
        "marker": {"symbol": kind.symbol, "size": 12, "color": kind.colour}, "hovertemplate": "%{text}",
    }  # fmt: skip


def gaps_as_none(value: Values, digits: int) -> list[float | None]:
    """Numbers as JSON can say them: rounded, a gap as None."""
    rounded = np.round(value, digits).astype(object)
    rounded[np.isnan(value)] = None
    result: list[float | None] = rounded.tolist()
    return result


def plain(text: str) -> str:
    """A text that the library shows as it is: it would read tags in it."""
    return html.escape(text, quote=False)
