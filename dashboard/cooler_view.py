"""What the cooler of a place did, day by day over a season, and how often its door opened."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from collector.air.channel import calibrated_series, pieces
from collector.air.read import AirReader
from collector.readings.model import Channel, Millis, Values
from collector.readings.reader import series
from collector.records.columns import from_ms
from collector.rules.cooler_days import CoolerDays, cooler_days
from collector.rules.cycle import counted, door_openings
from collector.situations import PlaceSituations
from dashboard import words
from dashboard.charts.air_figure import CONFIG, gaps_as_none
from dashboard.charts.axes import time_axis
from dashboard.household import Household

DAY_MS = 86_400_000
NOON_MS = DAY_MS // 2
SEASON_DAYS = 91
LATELY_DAYS = 7
A_DAY = "a day"


@dataclass(frozen=True, slots=True)
class CoolerView:
    """Day by day, shape (n,): days as numbers since 1970 (UTC); `opened` is None without a contact on a door."""

    days: CoolerDays
    opened: Millis | None

    @property
    def is_empty(self) -> bool:
        return not bool((self.days.cycles > 0).any()) and self.opened is None


@dataclass(frozen=True, slots=True)
class Row:
    """One measure: its word, its unit on the axis, and its value on each day, in that unit."""

    word: str
    unit: str
    digits: int
    values: Values


def cooler_view(reader: AirReader, place_id: str, channels: Sequence[Channel], last_day: int) -> CoolerView:
    """The season that ends with a day.

    Args:
        reader: answers for the air. place_id: a known place. channels: all of them, for door contacts.
        last_day: the last whole day, numbered since 1970 (UTC).
    """
    first = last_day + 1 - SEASON_DAYS
    span = first * DAY_MS, (last_day + 1) * DAY_MS
    situation = PlaceSituations(reader, place_id, memory_ms=0).at(*span)
    return CoolerView(cooler_days(situation, first, last_day + 1), _openings(reader, place_id, channels, *span))


def _openings(reader: AirReader, place_id: str, channels: Sequence[Channel], start: int, end: int) -> Millis | None:
    """How often the doors of a place opened on each day."""
    edges = np.arange(start, end + 1, DAY_MS, dtype=np.int64)
    total: Millis | None = None
    for channel in channels:
        held = [
            piece
            for piece in pieces(channel, reader.facts, start, end)
            if piece.quantity == "door" and piece.placement is not None and piece.placement.place_id == place_id
        ]
        if held:
            contact = calibrated_series(series(reader.db, channel.id, start, end), held)
            found = counted(door_openings(contact.taken_ms, contact.value)[0], edges)
            total = found if total is None else total + found
    return total


def rows_of(seen: CoolerView, household: Household) -> list[Row]:
    """The measures that there are, as the household reads them."""
    days = seen.days
    kelvin = 1.8 if household.temperature_unit == "F" else 1.0
    found = [
        Row("whole runs a day", A_DAY, 0, days.cycles),
        Row("from start to start", "min", 0, days.length_min),
        Row("share of time cooling", "%", 0, days.duty * 100),
        Row("swing", f"°{household.temperature_unit}", 1, days.swing_k * kelvin),
    ]
    if seen.opened is not None:
        found.append(Row("door opened a day", A_DAY, 0, seen.opened.astype(float)))
    return [row for row in found if not np.isnan(row.values).all()]


def lately(rows: Sequence[Row]) -> list[tuple[str, str, str]]:
    """Each measure in the last week and over the season: word, and both medians in words."""
    return [(row.word, _median(row, row.values[-LATELY_DAYS:]), _median(row, row.values)) for row in rows]


def _median(row: Row, values: Values) -> str:
    known = values[~np.isnan(values)]
    if not len(known):
        return words.NOTHING
    number = f"{np.median(known):.{row.digits}f}"
    return number if row.unit == A_DAY else f"{number} {row.unit}"


def table(seen: CoolerView, rows: Sequence[Row], household: Household) -> list[tuple[str, ...]]:
    """The numbers, the newest day first; days of which nothing is known are left out."""
    dates = [words.short_date(from_ms(int(day) * DAY_MS + NOON_MS).date(), household) for day in seen.days.day]
    told = zip(dates, *(_texts(row) for row in rows), strict=True)
    return [line for line in told if any(text != words.NOTHING for text in line[1:])][::-1]


def _texts(row: Row) -> list[str]:
    return [words.NOTHING if v is None else f"{v:.{row.digits}f}" for v in gaps_as_none(row.values, 2)]


def cooler_figure(seen: CoolerView, rows: Sequence[Row], household: Household) -> dict[str, Any]:
    """One small panel for each measure above the other, a day a point."""
    x = np.datetime_as_string(seen.days.day.astype("datetime64[D]")).tolist()
    share = 1 / max(len(rows), 1)
    layout: dict[str, Any] = {
        "xaxis": {**time_axis(household), "anchor": _axis(len(rows) - 1), "nticks": 5, "fixedrange": True},
        "dragmode": False, "showlegend": False, "margin": {"l": 52, "r": 12, "t": 24, "b": 40}, "annotations": [],
    }  # fmt: skip
    data = []
    for i, row in enumerate(rows):
        top = 1 - i * share
        domain = [round(top - share * 0.72, 3), round(top, 3)]
        layout["yaxis" + ("" if i == 0 else str(i + 1))] = {
            "domain": domain, "title": {"text": row.unit}, "fixedrange": True, "rangemode": "tozero",
        }  # fmt: skip
        layout["annotations"].append(_head(row.word, domain[1]))
        data.append(_line(row, x, _axis(i)))
    return {"data": data, "layout": layout, "config": CONFIG}


def _line(row: Row, x: list[str], axis: str) -> dict[str, Any]:
    return {
        "type": "scatter", "x": x, "y": gaps_as_none(row.values, row.digits + 1), "yaxis": axis, "mode": "lines",
        "line": {"color": "--accent", "width": 2}, "name": row.word, "hovertemplate": f"%{{y}} {row.unit}",
    }  # fmt: skip


def _axis(number: int) -> str:
    return "y" if number <= 0 else f"y{number + 1}"


def _head(word: str, top: float) -> dict[str, Any]:
    return {
        "xref": "paper", "yref": "paper", "x": 0, "y": top, "xanchor": "left", "yanchor": "bottom", "text": word,
        "showarrow": False,
    }  # fmt: skip
