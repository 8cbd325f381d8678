"""A strict reader of InfluxDB's line protocol, written from its reference and not from what our writer does.

Source: InfluxDB 2 documentation, "Line protocol" (elements, data types, special characters). Stricter than the database
in this: a time is demanded, empty tag values, doubled tags or fields, and numbers that are none are refused.
"""

import re
from dataclasses import dataclass

Value = float | int | str | bool
INTEGER = re.compile(r"-?\d{1,19}i\Z")
FLOAT = re.compile(r"-?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?\Z")
TIME = re.compile(r"-?\d{1,19}\Z")
TRUE, FALSE = {"t", "T", "true", "True", "TRUE"}, {"f", "F", "false", "False", "FALSE"}


class Malformed(ValueError):
    """A line that is none."""


@dataclass(frozen=True)
class Point:
    measurement: str
    tags: tuple[tuple[str, str], ...]
    fields: tuple[tuple[str, Value], ...]
    time: int


def parse(line: str) -> Point:
    """One line.

    Raises:
        Malformed: saying where it broke.
    """
    measurement, at = _word(line, 0, ", ")
    if not measurement or measurement.startswith("_") or measurement.startswith("#"):
        raise Malformed(f"unable to parse '{line}': missing measurement")
    tags, at = _tags(line, at)
    fields, at = _fields(line, at)
    if not TIME.match(line[at:]):
        raise Malformed(f"unable to parse '{line}': bad timestamp")
    return Point(measurement, tags, fields, int(line[at:]))


def _word(line: str, at: int, ends: str) -> tuple[str, int]:
    """A name up to an unescaped end sign; a backslash escapes only comma, equals sign and space."""
    word = ""
    while at < len(line) and line[at] not in ends:
        if line[at] == "\\" and at + 1 < len(line) and line[at + 1] in ",= ":
            at += 1
        elif line[at] in "\n\r\t" or (line[at] == "=" and "=" not in ends and "," in ends):
            raise Malformed(f"unable to parse '{line}': stray sign at {at}")
        word += line[at]
        at += 1
    if word.endswith("\\"):
        raise Malformed(f"unable to parse '{line}': a backslash at the end of a name")
    return word, at


def _tags(line: str, at: int) -> tuple[tuple[tuple[str, str], ...], int]:
    tags: list[tuple[str, str]] = []
    while at < len(line) and line[at] == ",":
        name, at = _word(line, at + 1, "=, ")
        if not name or name.startswith("_") or line[at : at + 1] != "=":
            raise Malformed(f"unable to parse '{line}': missing tag key")
        value, at = _word(line, at + 1, ", ")
        if not value:
            raise Malformed(f"unable to parse '{line}': missing tag value")
        tags.append((name, value))
    if line[at : at + 1] != " " or len(dict(tags)) != len(tags):
        raise Malformed(f"unable to parse '{line}': missing fields or duplicate tags")
    return tuple(sorted(tags)), at + 1


def _fields(line: str, at: int) -> tuple[tuple[tuple[str, Value], ...], int]:
    fields: list[tuple[str, Value]] = []
    while True:
        name, at = _word(line, at, "=, ")
        if not name or line[at : at + 1] != "=":
            raise Malformed(f"unable to parse '{line}': missing field key")
        value, at = _value(line, at + 1)
        fields.append((name, value))
        if line[at : at + 1] == " ":
            break
        if line[at : at + 1] != ",":
            raise Malformed(f"unable to parse '{line}': missing timestamp")
        at += 1
    if len(dict(fields)) != len(fields):
        raise Malformed(f"unable to parse '{line}': duplicate fields")
    return tuple(sorted(fields)), at + 1


def _value(line: str, at: int) -> tuple[Value, int]:
    if line[at : at + 1] == '"':
        return _string(line, at + 1)
    end = min((i for i in (line.find(",", at), line.find(" ", at)) if i >= 0), default=len(line))
    text = line[at:end]
    if INTEGER.match(text):
        return int(text[:-1]), end
    if FLOAT.match(text):
        return float(text), end
    if text in TRUE | FALSE:
        return text in TRUE, end
    raise Malformed(f"unable to parse '{line}': invalid number")


def _string(line: str, at: int) -> tuple[str, int]:
    text = ""
    while at < len(line) and line[at] != '"':
        if line[at] == "\\" and line[at + 1 : at + 2] in ('"', "\\"):
            at += 1
        text += line[at]
        at += 1
    if at >= len(line):
        raise Malformed(f"unable to parse '{line}': unbalanced quotes")
    return text, at + 1
