"""Axes of charts in the household's way of writing times."""

from typing import Any

from dashboard.household import Household

# How plotly writes a tick, from the smallest distance between ticks to the largest (d3-time-format's letters).
DAY_MS = 86_400_000
CLOCK = {"day-month": "%H:%M", "month-day": "%-I:%M %p", "year-month-day": "%H:%M"}
DAY = {"day-month": "%-d %b", "month-day": "%b %-d", "year-month-day": "%m-%d"}
MONTH = {"day-month": "%b %Y", "month-day": "%b %Y", "year-month-day": "%Y-%m"}


def time_axis(household: Household) -> dict[str, Any]:
    """An x axis of times.

    Give it times as the household's wall time without offset, "2026-03-01T14:10": the library would draw numbers in the
    browser's zone and ignores an offset in a text.
    """
    form = household.date_form
    clock, day, month = CLOCK[form], DAY[form], MONTH[form]
    stops = [
        {"dtickrange": [None, DAY_MS - 1], "value": f"{clock}\n{day}"},
        {"dtickrange": [DAY_MS, "M1"], "value": day},
        {"dtickrange": ["M1", None], "value": month},
    ]
    return {"type": "date", "tickformatstops": stops, "hoverformat": f"{day} {clock}"}
