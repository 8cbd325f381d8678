"""How an old log is probably written, from its first lines; pure. A person confirms it before anything is taken in."""

import csv
import io
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from collector.importing.csv_form import FAULT_WORDS, MOMENT, MOST_COLUMNS, UNIX, number_of
from collector.quantity_words import guess_quantity, guess_unit, unit_code

DELIMITERS = (";", "\t", ",", "|")
MOST_LINES = 200
CLOCK_TIME = re.compile(r"\s*\d{1,2}:\d{2}(:\d{2}([.,]\d+)?)?\s*([AaPp]\.?[Mm]\.?)?\s*", re.ASCII)
COMMA_NUMBER = re.compile(r"\s*[+-]?\d+,\d+\D*", re.ASCII)
UNIT_IN_NAME = re.compile(r"[\[(]\s*([^\])]{1,12})\s*[\])]")


@dataclass(frozen=True, slots=True)
class GuessedColumn:
    """A column: its heading, a few of its cells, and what it probably measures ("" and "" where nothing says so)."""

    number: int
    heading: str
    cells: tuple[str, ...]
    quantity: str
    unit: str


@dataclass(frozen=True, slots=True)
class Guess:
    """How a log is probably written.

    Args:
        skip: lines before the data. time_columns: () when no column looks like times.
        order: one of `csv_form.ORDERS`. order_is_sure: False when day and month could be either.
        columns: all of them, those of the time too.
    """

    encoding: str
    delimiter: str
    decimal: str
    skip: int
    time_columns: tuple[int, ...]
    order: str
    order_is_sure: bool
    columns: tuple[GuessedColumn, ...]


def encoding_of(head: bytes) -> str:
    """The encoding of a log by its first bytes; a character cut at the end does not count against it."""
    if head.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    try:
        head[:-4].decode("utf-8-sig")
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8-sig"


def guess(head: bytes, order: str = "dmy", delimiter: str = "") -> Guess:
    """How a log is probably written.

    Args:
        head: its first bytes, some 64 kB. order: which of dmy and mdy to take where the dates leave it open.
        delimiter: what a person said that cuts the columns; "" to guess it too.
    Returns:
        A guess, whatever the bytes; raises nothing.
    Source: common practice, no source.
    """
    encoding = encoding_of(head)
    lines = head.decode(encoding, errors="replace").replace("\0", "").splitlines()[:MOST_LINES]
    delimiter = delimiter or _delimiter(lines)
    table = cells_of(lines, delimiter)
    skip, times = _first_data(table)
    data = table[skip:]
    decimal = _decimal(data, delimiter, times)
    found_order, sure = _order([row[times[0]] for row in data if times and len(row) > times[0]], order)
    heading = table[skip - 1] if 0 < skip <= len(table) else []
    width = min(MOST_COLUMNS, max((len(row) for row in data), default=0))
    columns = tuple(_column(i, heading[i] if i < len(heading) else "", data, i in times) for i in range(width))
    return Guess(encoding, delimiter, decimal, skip, times, found_order, sure, columns)


def cells_of(lines: Sequence[str], delimiter: str) -> list[list[str]]:
    """Lines as cells; a line that the parser refuses is one cell."""
    found = []
    for line in lines:
        try:
            found.append(next(csv.reader(io.StringIO(line), delimiter=delimiter), []))
        except csv.Error:
            found.append([line])
    return found


def _delimiter(lines: Sequence[str]) -> str:
    """The one that cuts the most lines into the same number of columns; of equals the rarer in texts."""
    best, most = ",", (0, 0)
    for delimiter in DELIMITERS:
        counts = Counter(line.count(delimiter) for line in lines if line.count(delimiter))
        if counts:
            columns, times = counts.most_common(1)[0]
            if (times, -DELIMITERS.index(delimiter)) > most and columns < MOST_COLUMNS:
                best, most = delimiter, (times, -DELIMITERS.index(delimiter))
    return best


def _first_data(table: Sequence[Sequence[str]]) -> tuple[int, tuple[int, ...]]:
    """The number of the first row that has a time, and its columns of time."""
    for number, row in enumerate(table):
        times = _time_columns(row)
        if times:
            return number, times
    return 0, ()


def _time_columns(row: Sequence[str]) -> tuple[int, ...]:
    for i, cell in enumerate(row[:MOST_COLUMNS]):
        found = MOMENT.fullmatch(cell)
        if found is not None:
            apart = found[4] is None and i + 1 < len(row) and CLOCK_TIME.fullmatch(row[i + 1])
            return (i, i + 1) if apart else (i,)
    # A bare number is a time only where it stands alone at the front and is as long as one.
    return (0,) if row and len(row) > 1 and UNIX.fullmatch(row[0]) else ()


def _decimal(data: Sequence[Sequence[str]], delimiter: str, times: Sequence[int]) -> str:
    if delimiter == ",":
        quoted = sum(bool(COMMA_NUMBER.fullmatch(c)) for row in data for i, c in enumerate(row) if i not in times)
        return "," if quoted else "."
    cells = [cell for row in data for i, cell in enumerate(row) if i not in times]
    return "," if sum(bool(COMMA_NUMBER.fullmatch(cell)) for cell in cells) else "."


def _order(texts: Sequence[str], otherwise: str) -> tuple[str, bool]:
    """Which of year, month and day comes first, and whether the dates leave no doubt."""
    if texts and all(UNIX.fullmatch(text) for text in texts[:5]):
        return ("unix_ms" if len(texts[0].strip().split(".")[0]) > 11 else "unix_s"), True
    found = [match for text in texts if (match := MOMENT.fullmatch(text))]
    if any(len(match[1]) > 2 for match in found):
        return "ymd", True
    if any(int(match[1]) > 12 for match in found):
        return "dmy", True
    if any(int(match[2]) > 12 for match in found):
        return "mdy", True
    return (otherwise if otherwise in ("dmy", "mdy") else "dmy"), False


def _column(number: int, heading: str, data: Sequence[Sequence[str]], is_time: bool) -> GuessedColumn:
    cells = [row[number].strip() for row in data if len(row) > number]
    shown = tuple(cell[:40] for cell in cells[:3])
    values = [cell for cell in cells if cell.lower() not in FAULT_WORDS]
    numbers = sum(number_of(cell, ",") is not None or number_of(cell, ".") is not None for cell in values)
    if is_time or not values or numbers < len(values) * 0.5:
        return GuessedColumn(number, heading.strip()[:80], shown, "", "")
    quantity, unit = _meaning(heading)
    return GuessedColumn(number, heading.strip()[:80], shown, quantity, unit)


def _meaning(heading: str) -> tuple[str, str]:
    """What a heading says: its words, and a unit in brackets behind them."""
    bracket = UNIT_IN_NAME.search(heading)
    said = bracket[1].strip() if bracket else ""
    name = UNIT_IN_NAME.sub(" ", heading).strip()
    quantity = guess_quantity(name, said) or guess_quantity(heading) or (guess_quantity(name) if said else None)
    if quantity is None:
        return "", ""
    return quantity, _unit(said, name, heading, quantity)


def _unit(said: str, name: str, heading: str, quantity: str) -> str:
    code = unit_code(said, quantity) if said else None
    return code or guess_unit(name, quantity) or guess_unit(heading, quantity)
