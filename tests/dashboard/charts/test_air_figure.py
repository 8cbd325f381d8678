"""The figure: its sizes, its gaps, its wall time through both changes of the clocks, and what strangers wrote."""

import gzip
import json
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from dashboard.charts.air_figure import air_figure
from dashboard.charts.bands import humidity_bands, temperature_bands
from dashboard.charts.drawing import Drawing, Drawn, drawing
from dashboard.charts.mark import ChartMark
from dashboard.charts.marks import MARK_KINDS, Lane
from dashboard.charts.spans import DAY_MS, Window, linked
from dashboard.household import Household
from tests.dashboard.charts.caves_drawn import CAVE, a_target, cave, facts_of, ms
from tests.dashboard.places_seen import a_message

ZURICH = Household(time_zone="Europe/Zurich")
STEP = 600_000
START = ms("2026-03-11T00:00+00:00")


def drawn(shown: Window, *lines: Drawn, **more: Any) -> Drawing:
    return replace(Drawing(shown, lines, (), (), ()), **more)


def a_line(shown: Window, **more: Any) -> Drawn:
    at_ms = np.arange(shown.from_ms, shown.to_ms, STEP, dtype=np.int64)
    return replace(Drawn("temperature", "main", "temperature", at_ms, np.full(len(at_ms), 12.0)), **more)


def trace(figure: dict[str, Any], name: str) -> dict[str, Any]:
    found: dict[str, Any] = next(t for t in figure["data"] if t.get("name") == name)
    return found


def test_when_the_clocks_go_back_the_line_breaks_and_the_chart_says_so() -> None:
    """2026-10-25 at 01:00 UTC (directive 2000/84/EC)."""
    shown = linked(ms("2026-10-25T00:00+00:00"), ms("2026-10-25T03:00+00:00"), ms("2027-01-01T00:00+00:00"))
    figure = air_figure(drawn(shown, a_line(shown)), ZURICH)
    x, y = trace(figure, "temperature")["x"], trace(figure, "temperature")["y"]
    assert [text[11:16] for text in x[4:9]] == ["02:40", "02:50", "02:50", "02:00", "02:10"]
    assert y[6] is None
    assert y.count(None) == 1
    (note,) = figure["layout"]["annotations"]
    assert note["text"] == "clocks back 1 h: it comes twice"
    assert "Z" not in "".join(x)
    assert "+" not in "".join(x)


def test_when_the_clocks_go_forward_the_wall_misses_an_hour_and_nothing_breaks() -> None:
    """2026-03-29 at 01:00 UTC (directive 2000/84/EC)."""
    shown = linked(ms("2026-03-29T00:00+00:00"), ms("2026-03-29T02:00+00:00"), ms("2027-01-01T00:00+00:00"))
    figure = air_figure(drawn(shown, a_line(shown)), ZURICH)
    x, y = trace(figure, "temperature")["x"], trace(figure, "temperature")["y"]
    assert [text[11:16] for text in x[4:8]] == ["01:40", "01:50", "03:00", "03:10"]
    assert None not in y
    (note,) = figure["layout"]["annotations"]
    assert note["text"] == "clocks on 1 h to 03:00"


def test_a_long_chart_does_not_mention_the_clocks() -> None:
    shown = linked(ms("2026-03-01T00:00+00:00"), ms("2026-04-01T00:00+00:00"), ms("2027-01-01T00:00+00:00"))
    assert air_figure(drawn(shown, a_line(shown)), ZURICH)["layout"]["annotations"] == []


def test_gaps_stay_gaps_in_line_and_ribbon() -> None:
    shown = linked(START, START + DAY_MS, START + DAY_MS)
    value = np.full(144, 12.0)
    value[50:60] = np.nan
    line = a_line(shown, value=value, low=value - 1, high=value + 1)
    figure = air_figure(drawn(shown, line), ZURICH)
    assert trace(figure, "temperature")["y"].count(None) == 10
    ribbon = figure["data"][0]
    assert (ribbon["fill"], ribbon["hoverinfo"]) == ("toself", "skip")
    # Two closed shapes, one on either side of the gap: up the highs, back along the lows.
    assert [ribbon["y"][0], ribbon["y"][99], ribbon["y"][100]] == [13.0, 11.0, None]
    assert len(ribbon["y"]) == 2 * 134 + 2
    json.dumps(figure, allow_nan=False)


def test_targets_are_drawn_as_they_held() -> None:
    lower_at = datetime(2026, 3, 11, 12, tzinfo=UTC)
    targets = [a_target(temperature_low_c=10, temperature_high_c=14),
               a_target(lower_at, temperature_low_c=8, humidity_low_pct=85),
               a_target(datetime(2026, 3, 11, 18, tzinfo=UTC), resting=True)]  # fmt: skip
    shown = linked(START, START + DAY_MS, START + DAY_MS)
    bands = tuple(temperature_bands(targets, shown.from_ms, shown.to_ms))
    humid = tuple(humidity_bands(targets, shown.from_ms, shown.to_ms))
    made = drawn(shown, a_line(shown), temperature_bands=bands, humidity_bands=humid)
    figure = air_figure(made, ZURICH)
    top = figure["layout"]["yaxis"]["range"][1]
    assert [(s["yref"], s["x0"][11:], s["x1"][11:], s["y0"], s["y1"]) for s in figure["layout"]["shapes"]] == [
        ("y", "01:00", "13:00", 10.0, 14.0),
        ("y", "13:00", "19:00", 8.0, top),
        ("y2", "13:00", "19:00", 85.0, figure["layout"]["yaxis2"]["range"][1]),
    ]
    assert trace(figure, "target")["marker"]["symbol"] == "square"


def test_doubtful_readings_are_hollow_dashed_and_named() -> None:
    shown = linked(START, START + DAY_MS, START + DAY_MS)
    figure = air_figure(
        drawn(shown, a_line(shown, style="doubtful", name="doubtful, left out: p", points=True)), ZURICH
    )
    doubted = trace(figure, "doubtful, left out: p")
    assert (doubted["line"]["dash"], doubted["marker"]["symbol"]) == ("dash", "circle-open")


def test_what_strangers_wrote_is_no_markup() -> None:
    shown = linked(START, START + DAY_MS, START + DAY_MS)
    lane = Lane(MARK_KINDS["probe_warnings"], (ChartMark(START, None, '<a href="x">probe</a> & co'),))
    figure = air_figure(drawn(shown, a_line(shown, name="<b>probe</b>"), lanes=(lane,)), ZURICH)
    text = json.dumps(figure)
    assert "<" not in text.replace("%{", "")
    assert trace(figure, "probe")["text"] == ['&lt;a href="x"&gt;probe&lt;/a&gt; &amp; co', None]


def test_marks_stand_in_a_row_of_their_own_as_long_as_they_lasted() -> None:
    shown = linked(START, START + DAY_MS, START + DAY_MS)
    lane = Lane(
        MARK_KINDS["warnings"], (ChartMark(START + STEP, START + 7 * STEP, "too dry"), ChartMark(START, None, "x"))
    )
    figure = air_figure(drawn(shown, a_line(shown), lanes=(lane,)), ZURICH)
    marks = trace(figure, "warnings")
    assert [text and text[11:] for text in marks["x"]] == ["01:10", "02:10", None, "01:00", None]
    assert marks["y"] == [0, 0, None, 0, None]
    assert figure["layout"]["yaxis3"]["ticktext"] == ["warnings"]
    assert figure["layout"]["xaxis"]["anchor"] == "y3"


def test_fahrenheit_households_see_fahrenheit() -> None:
    shown = linked(START, START + DAY_MS, START + DAY_MS)
    figure = air_figure(drawn(shown, a_line(shown)), Household(time_zone="UTC", temperature_unit="F"))
    assert trace(figure, "temperature")["y"][0] == 53.6
    assert figure["layout"]["yaxis"]["title"]["text"] == "°F"


def test_nothing_known_is_an_empty_chart() -> None:
    shown = linked(START, START + DAY_MS, START + DAY_MS)
    figure = air_figure(drawn(shown), ZURICH)
    assert figure["data"] == []
    assert figure["layout"]["yaxis"]["range"] == [0.0, 20.0]


@pytest.mark.parametrize("lead", [None, "p"])
def test_a_day_shows_readings_and_other_probes_beside_them(tmp_path: Path, lead: str | None) -> None:
    arrivals = [a_message(p, START + m * 60_000, t, 88) for p, t in (("p", 12.0), ("q", 13.0)) for m in range(600)]
    shown = linked(START, START + DAY_MS, START + DAY_MS)
    with cave(tmp_path, arrivals, facts_of("p", "q", lead=lead)) as reader:
        figure = air_figure(drawing(reader, CAVE, shown), ZURICH)
    names = {t.get("name") for t in figure["data"] if t.get("name")}
    if lead is None:
        assert names == {"temperature", "humidity", "dew point", "p", "q"}
        assert len([y for y in trace(figure, "temperature")["y"] if y is not None]) < 144
    else:
        assert names == {"temperature", "humidity", "dew point", "q"}
        assert len([y for y in trace(figure, "temperature")["y"] if y is not None]) == 600
    assert len([t for t in figure["data"] if t.get("name") == "q" and t["showlegend"]]) == 1


def test_a_month_is_small_on_the_wire(tmp_path: Path) -> None:
    noise = np.random.default_rng(0).normal(0, 1, (30 * 144, 2))
    arrivals = [
        a_message("p", START + i * STEP, 12 + round(float(a), 2), 85 + round(float(b), 2))
        for i, (a, b) in enumerate(noise)
    ]
    shown = linked(START, START + 30 * DAY_MS, START + 30 * DAY_MS)
    with cave(
        tmp_path, arrivals, facts_of("p", targets=(a_target(temperature_low_c=10, humidity_low_pct=80),))
    ) as reader:
        figure = air_figure(drawing(reader, CAVE, shown), ZURICH)
    text = json.dumps(figure, allow_nan=False, separators=(",", ":")).encode()
    assert len(gzip.compress(text, 6)) < 60_000
