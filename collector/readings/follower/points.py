"""What readings and rollups look like in the follower's database: measurements, tags, fields; pure.

    reading      tags probe, field, quantity         fields value, unit, lag_ms, mark
    ten_minutes  tags probe, field, quantity, unit   fields count, low, high, mean, covered_ms, spread

A reading's unit is a field, so that a corrected unit overwrites; two units in one step are two rollups, so there it is
a tag. Times are in ms. Values are as sent, neither calibrated nor converted, like here.
"""

import math
from collections.abc import Iterator, Mapping, Sequence

from collector.readings.model import Channel

READING = "reading"
TEN_MINUTES = "ten_minutes"
LAST_MS = 7_258_118_400_000  # 2200: later than any reading, and a time that the database can hold

_KEY = str.maketrans({",": r"\,", "=": r"\=", " ": r"\ "})
_STRING = str.maketrans({'"': r"\"", "\\": r"\\"})
# InfluxDB's reference, "Line protocol, special characters": a tag cannot end with a backslash and holds no line end.
# Probes may be called anything, so these signs are written as their look-alikes.
_ALIKE = str.maketrans({"\\": "\N{FULLWIDTH REVERSE SOLIDUS}", "\x7f": "\N{SYMBOL FOR DELETE}"}) | {
    number: chr(0x2400 + number) for number in range(32)
}


def named(text: str) -> str:
    """A name as it stands in a tag: backslash and control signs as look-alikes, what is no text as a question mark.

    Args:
        text: any name.
    Returns:
        The name; equal for most names. Not empty unless `text` is.
    """
    return text.translate(_ALIKE).encode("utf-8", "replace").decode()


def tags(channel: Channel, unit: str | None = None) -> dict[str, str]:
    """The tags of a channel, empty ones left out; with a unit for its rollups."""
    found = {
        "probe": channel.probe,
        "field": channel.field,
        "quantity": channel.quantity or "",
        "unit": unit or "",
    }
    return {name: named(value) for name, value in found.items() if value}


def series_key(measurement: str, own: Mapping[str, str]) -> str:
    """What a line begins with: the measurement and its tags, sorted as the database likes them."""
    return ",".join([measurement, *(f"{name}={own[name].translate(_KEY)}" for name in sorted(own))])


def string(text: str) -> str:
    """A text as a field's value."""
    return f'"{named(text).translate(_STRING)}"'


def reading_lines(
    channel: Channel, rows: Sequence[tuple[int, float, int, int, int]], units: Mapping[int, str]
) -> Iterator[str]:
    """Lines of raw readings.

    Args:
        rows: taken_ms, value, unit number, lag_ms, mark of each. units: code by number.
    Returns:
        One line each; a value that is no number has none, since the database knows no such thing.
    """
    key = series_key(READING, tags(channel))
    texts = {number: string(code) for number, code in units.items()}
    for taken_ms, value, unit, lag_ms, mark in rows:
        if math.isfinite(value):
            yield f"{key} value={value!r},unit={texts[unit]},lag_ms={lag_ms}i,mark={mark}i {taken_ms}"


def rollup_lines(
    channel: Channel,
    rows: Sequence[tuple[int, int, int, float, float, float, int, float | None]],
    units: Mapping[int, str],
) -> Iterator[str]:
    """Lines of ten-minute rollups.

    Args:
        rows: start_ms, unit number, count, low, high, mean, covered_ms, spread of each. units: code by number.
    Returns:
        One line each; one with a mean that is no number has none.
    """
    keys = {number: series_key(TEN_MINUTES, tags(channel, units[number])) for number in {row[1] for row in rows}}
    for start_ms, unit, count, low, high, mean, covered_ms, spread in rows:
        if math.isfinite(low) and math.isfinite(high) and math.isfinite(mean):
            more = f",spread={spread!r}" if spread is not None and math.isfinite(spread) else ""
            yield (
                f"{keys[unit]} count={count}i,low={low!r},high={high!r},mean={mean!r},covered_ms={covered_ms}i"
                f"{more} {start_ms}"
            )


def flux_string(text: str) -> str:
    """A text inside a question; "${" would be filled in by the database."""
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"').replace("${", "\\${") + '"'


def _matching(bucket: str, from_ms: int, to_ms: int, wanted: Mapping[str, str]) -> str:
    match = " and ".join(f"r[{flux_string(name)}] == {flux_string(value)}" for name, value in sorted(wanted.items()))
    span = f"start: time(v: {from_ms * 1_000_000}), stop: time(v: {to_ms * 1_000_000})"
    return f"from(bucket: {flux_string(bucket)}) |> range({span}) |> filter(fn: (r) => {match})"


def question(bucket: str, measurement: str, own: Mapping[str, str], from_ms: int, to_ms: int) -> str:
    """The question for all points of a channel with from <= time < to, one row a point."""
    return (
        _matching(bucket, from_ms, to_ms, {"_measurement": measurement} | dict(own))
        + ' |> pivot(rowKey: ["_time"], columnKey: ["_field"], valueColumn: "_value")'
        + ' |> group() |> sort(columns: ["_time"])'
    )


def first_question(bucket: str, measurement: str, own: Mapping[str, str]) -> str:
    """The question for the first point of a channel, one row a series."""
    told = {"_measurement": measurement, "_field": "value" if measurement == READING else "mean"}
    # Without an end the database takes its own clock for it, which may be behind ours or a probe's.
    return _matching(bucket, 0, LAST_MS, told | dict(own)) + " |> first()"


def predicate(measurement: str, own: Mapping[str, str]) -> str:
    """The words by which points of a series are taken back.

    Names stand in quotes too: the database reads them as InfluxQL, where "field" is a word of the language (InfluxDB 2
    documentation, "Delete predicate syntax", keywords).
    """
    wanted = {"_measurement": measurement} | dict(own)
    return " AND ".join(f'"{name}"="{value.translate(_STRING)}"' for name, value in sorted(wanted.items()))
