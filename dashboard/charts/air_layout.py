"""Axes, bands of targets and changes of the clocks on a chart of air, as plotly's plain dicts."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from collector.records.columns import from_ms
from dashboard import words
from dashboard.charts.axes import time_axis
from dashboard.charts.bands import Band
from dashboard.charts.drawing import Drawing
from dashboard.charts.panels import AXES, LANE_AXIS, Panel, in_unit, one_in_unit, unit_word
from dashboard.charts.spans import DAY_MS
from dashboard.charts.wall_time import ClockChange, changes, wall_text
from dashboard.household import Household

LANE_SHARE = 0.055  # of the chart's height, for each row of marks
BETWEEN = 0.06
ROOM = 0.06  # of what is seen, left free above and below
LEAST_RANGE: dict[Panel, float] = {"temperature": 1.0, "humidity": 4.0}  # a still cellar's noise must not fill a panel
FINE_MS = 8 * DAY_MS  # up to here a change of the clocks can be seen


def air_layout(drawn: Drawing, household: Household) -> dict[str, Any]:
    """Temperature above, humidity beneath, rows of marks below; one time axis in the household's wall time."""
    lanes = len(drawn.lanes)
    foot = lanes * LANE_SHARE + BETWEEN if lanes else 0.0
    middle = foot + (1 - foot) * 0.45
    ranges = {panel: _range(drawn, panel, household) for panel in AXES}
    ends = [wall_text(at, household.zone) for at in (drawn.shown.from_ms, drawn.shown.to_ms)]
    clock = changes(household.zone, drawn.shown.from_ms, drawn.shown.to_ms) if drawn.shown.length_ms <= FINE_MS else []
    layout: dict[str, Any] = {
        "xaxis": {
            **time_axis(household),
            "range": ends,
            "anchor": LANE_AXIS if lanes else "y2",
            "nticks": 5,
            "fixedrange": True,
        },
        "yaxis": _axis("temperature", ranges["temperature"], (middle + BETWEEN, 1), household),
        "yaxis2": _axis("humidity", ranges["humidity"], (foot, middle), household),
        "shapes": [*_band_shapes(drawn, ranges, household), *(_clock_line(one, household) for one in clock)],
        "annotations": [_clock_words(one, household) for one in clock],
        "dragmode": False,  # a finger on the chart scrolls the page
        "margin": {"l": 44, "r": 12, "t": 12, "b": 40},
    }
    if lanes:
        layout["yaxis3"] = _lane_axis(drawn, foot - BETWEEN)
    return layout


def _axis(panel: Panel, ends: list[float], domain: tuple[float, float], household: Household) -> dict[str, Any]:
    title = {"text": unit_word(panel, household)}
    return {"title": title, "domain": list(domain), "range": ends, "fixedrange": True}


def _lane_axis(drawn: Drawing, top: float) -> dict[str, Any]:
    return {
        "domain": [0, top], "range": [-0.5, len(drawn.lanes) - 0.5], "fixedrange": True, "showgrid": False,
        "zeroline": False, "tickvals": list(range(len(drawn.lanes))),
        "ticktext": [lane.kind.word for lane in drawn.lanes],
    }  # fmt: skip


def bands_of(drawn: Drawing, panel: Panel) -> Sequence[Band]:
    return drawn.temperature_bands if panel == "temperature" else drawn.humidity_bands


def _range(drawn: Drawing, panel: Panel, household: Household) -> list[float]:
    """Ends of an axis on which every line and band is seen."""
    edges = [edge for band in bands_of(drawn, panel) for edge in (band.low, band.high) if edge is not None]
    seen = [np.array(edges, dtype=float)]
    for line in drawn.lines:
        if line.panel == panel:
            seen += [values for values in (line.value, line.low, line.high) if values is not None]
    values = in_unit(np.concatenate(seen), panel, household)
    if len(values) == 0 or np.isnan(values).all():
        return [one_in_unit(end, panel, household) for end in ((0, 100) if panel == "humidity" else (0, 20))]
    low, high = float(np.nanmin(values)), float(np.nanmax(values))
    least = LEAST_RANGE[panel]
    room = ROOM * max(high - low, least) + max(0.0, least - (high - low)) / 2
    return [round(low - room, 2), round(high + room, 2)]


def _band_shapes(drawn: Drawing, ranges: dict[Panel, list[float]], household: Household) -> list[dict[str, Any]]:
    return [_band_shape(band, panel, ranges[panel], household) for panel in AXES for band in bands_of(drawn, panel)]


def _band_shape(band: Band, panel: Panel, ends: list[float], household: Household) -> dict[str, Any]:
    low = ends[0] if band.low is None else one_in_unit(band.low, panel, household)
    high = ends[1] if band.high is None else one_in_unit(band.high, panel, household)
    return {
        "type": "rect", "xref": "x", "yref": AXES[panel], "layer": "below", "fillcolor": "--band", "opacity": 0.45,
        "x0": wall_text(band.from_ms, household.zone), "x1": wall_text(band.to_ms, household.zone),
        "y0": low, "y1": high, "line": {"width": 0},
    }  # fmt: skip


def _clock_line(change: ClockChange, household: Household) -> dict[str, Any]:
    at = wall_text(change.at_ms, household.zone)
    line = {"color": "--soft", "width": 1, "dash": "dot"}
    return {"type": "line", "xref": "x", "yref": "paper", "x0": at, "x1": at, "y0": 0, "y1": 1, "line": line}


def _clock_words(change: ClockChange, household: Household) -> dict[str, Any]:
    return {
        "xref": "x", "yref": "paper", "x": wall_text(change.at_ms, household.zone), "y": 1, "yanchor": "top",
        "text": clock_change_words(change, household), "showarrow": False, "bgcolor": "--sheet",
    }  # fmt: skip


def clock_change_words(change: ClockChange, household: Household) -> str:
    """What the clocks did, as the chart and the table say it."""
    length = words.duration(change.by_ms / 1_000)
    if change.by_ms < 0:
        return f"clocks back {length}: it comes twice"
    return f"clocks on {length} to {words.clock_time(from_ms(change.at_ms), household)}"
