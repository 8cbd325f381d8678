"""How an old log is written, and its rows read by that: times, numbers, gaps; pure."""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from pydantic import TypeAdapter

from collector.errors import EntryRefused
from collector.quantities import QUANTITIES, can_be
from collector.readings.model import Mark, Sample

ORDERS = ("ymd", "dmy", "mdy", "unix_s", "unix_ms")
DECIMALS = (".", ",")
# Words and numbers by which loggers say that they measured nothing; common practice, no source. -127 is what a DS18B20
# that is not connected says (its data sheet's range ends at -55).
FAULT_WORDS = frozenset({
    "", "-", "--", "---", "?", "error", "err", "nan", "null", "none", "n/a", "na", "inf", "-inf", "fault", "fail",
    "open", "short", "ol", "over", "under", "lost", "offline", "unavailable", "unknown", "#n/a", "nodata", "no data",
})  # fmt: skip
FAULT_NUMBERS = (-200.0, -999.0, -9999.0, -127.0, -273.15, 9999.0)
MOST_COLUMNS = 200
EARLIEST_MS = 946_684_800_000  # 2000-01-01, as for what probes send
AHEAD_MS = 600_000
DAYS_TO_1970 = 719_163

_DATE = r"(\d{1,4})[-/. ](\d{1,2})[-/. ](\d{1,4})"
_TIME = r"(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,](\d{1,9}))?)?\s*([AaPp]\.?[Mm]\.?)?"
_ZONE = r"\s*(Z|UTC|GMT|[+-]\d{2}:?\d{2})?"
MOMENT = re.compile(rf"\s*{_DATE}(?:[T,\s]+{_TIME}{_ZONE})?\s*", re.ASCII)
NUMBER = re.compile(r"[^\d+.,−-]*([+−-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?)[^\d.,]*", re.ASCII)
UNIX = re.compile(r"\s*(\d{9,14})(?:[.,](\d+))?\s*", re.ASCII)


@dataclass(frozen=True, slots=True)
class ValueColumn:
    """A column of values: its number from 0, the field it becomes, what it measures and in which unit."""

    number: int
    field: str
    quantity: str
    unit: str


@dataclass(frozen=True, slots=True)
class LogForm:
    """How a log is written.

    Args:
        encoding, delimiter, decimal: of the text. skip: lines before the first row of data.
        time_columns: one column, or date and time apart. order: one of ORDERS.
        zone: in which the times are, where they do not say it. winter_all_year: its clock is never put forward.
        columns: what is taken in. fault_numbers: values that stand for a gap.
        probe, topic: to which it belongs.
    """

    encoding: str
    delimiter: str
    decimal: str
    skip: int
    time_columns: tuple[int, ...]
    order: str
    zone: str
    winter_all_year: bool
    columns: tuple[ValueColumn, ...]
    probe: str
    topic: str
    fault_numbers: tuple[float, ...] = FAULT_NUMBERS


@dataclass(frozen=True, slots=True)
class Row:
    """What a row gave: its samples, and why it was refused where it was."""

    samples: tuple[Sample, ...]
    refused: str = ""


NOTHING = Row(())


def form_from(found: Mapping[str, Any]) -> LogForm:
    """A form from its JSON.

    Raises:
        EntryRefused: something is missing, or is none of the possible values.
    """
    try:
        form = TypeAdapter(LogForm).validate_python(found)
        ZoneInfo(form.zone)
        "".encode(form.encoding)
    except (ValueError, LookupError, OSError) as error:
        raise EntryRefused("form", f"The description of the log cannot be read: {type(error).__name__}.") from error
    _check(form)
    return form


def _check(form: LogForm) -> None:
    parts = len(form.delimiter) == 1 and form.delimiter not in '"\r\n'
    if form.order not in ORDERS or form.decimal not in DECIMALS or not parts:
        raise EntryRefused("form", "The log's date order, decimal sign or separator is none of the possible ones.")
    if not 1 <= len(form.time_columns) <= 2 or not form.columns or not form.probe:
        raise EntryRefused("form", "A log needs a column of times, a column of values and a probe.")
    for column in form.columns:
        if column.quantity not in QUANTITIES or not can_be(column.unit, column.quantity):
            raise EntryRefused("form", f"{column.field:.60} cannot be {column.quantity:.60} in {column.unit:.60}.")
    numbers = [*form.time_columns, *(column.number for column in form.columns)]
    if any(not isinstance(n, int) or not 0 <= n < MOST_COLUMNS for n in numbers):
        raise EntryRefused("form", f"A column's number must be 0 to {MOST_COLUMNS - 1}.")


def number_of(text: str, decimal: str) -> float | None:
    """A number as a logger wrote it, with or without its unit behind; None when it is none.

    Args:
        text: of the cell. decimal: "." or ",".
    """
    try:
        return float(text) if decimal == "." or "," not in text else float(text.replace(",", "."))
    except ValueError:
        found = NUMBER.fullmatch(text.strip())
    if found is None:
        return None
    digits = found[1].replace("−", "-")
    other = "," if decimal == "." else "."
    if other in digits:
        return None
    return float(digits.replace(",", "."))


class Clock:
    """Times of a log's rows, in order: of the hour that autumn has twice, the second comes after the first."""

    def __init__(self, form: LogForm) -> None:
        self._order, self._zone, self._winter = form.order, ZoneInfo(form.zone), form.winter_all_year
        self._offsets: dict[tuple[int, int, int, int, bool], tuple[int, int]] = {}
        self._last_ms = 0

    def ms(self, text: str) -> int | None:
        """A time [ms since 1970 UTC]; None when the text is none."""
        if self._order.startswith("unix"):
            return _unix_ms(text, self._order)
        found = MOMENT.fullmatch(text)
        if found is None:
            return None
        try:
            naive = _naive(found, self._order)
        except (ValueError, OverflowError):
            return None
        stamp_ms = _stamp_ms(naive)
        if found[9]:
            return stamp_ms - _said_offset_ms(found[9])
        first, second = self._offset_ms(naive)
        at_ms = stamp_ms - first
        if first != second and at_ms <= self._last_ms:
            at_ms = stamp_ms - second
        self._last_ms = at_ms
        return at_ms

    def _offset_ms(self, naive: datetime) -> tuple[int, int]:
        """The zone's offset at a wall time, and in the second passage of a doubled hour [ms]."""
        key = (naive.year, naive.month, naive.day, naive.hour, naive.minute >= 30)
        found = self._offsets.get(key)
        if found is None:
            if len(self._offsets) > 50_000:
                self._offsets.clear()
            found = self._offsets[key] = self._look_up(naive)
        return found

    def _look_up(self, naive: datetime) -> tuple[int, int]:
        first, second = naive.replace(tzinfo=self._zone), naive.replace(tzinfo=self._zone, fold=1)
        if self._winter:
            saving = first.dst() or timedelta()
            one = _ms((first.utcoffset() or timedelta()) - saving)
            return one, one
        if _is_skipped(first):
            one = _ms(first.utcoffset() or timedelta())
            return one, one
        return _ms(first.utcoffset() or timedelta()), _ms(second.utcoffset() or timedelta())


def _stamp_ms(naive: datetime) -> int:
    """A wall time as if it were UTC [ms], rounded down to whole milliseconds."""
    seconds = (naive.toordinal() - DAYS_TO_1970) * 86_400 + naive.hour * 3_600 + naive.minute * 60 + naive.second
    return seconds * 1_000 + naive.microsecond // 1_000


def _is_skipped(local: datetime) -> bool:
    """Whether a wall time lies in the hour that spring leaves out."""
    back = local.astimezone(UTC).astimezone(local.tzinfo)
    return back.replace(tzinfo=None) != local.replace(tzinfo=None)


def _ms(span: timedelta) -> int:
    return int(span.total_seconds() * 1000)


def _unix_ms(text: str, order: str) -> int | None:
    found = UNIX.fullmatch(text)
    if found is None:
        return None
    whole, part = int(found[1]), float(f"0.{found[2] or 0}")
    return int((whole + part) * 1000 + 0.5) if order == "unix_s" else whole


def _naive(found: re.Match[str], order: str) -> datetime:
    a, b, c = int(found[1]), int(found[2]), int(found[3])
    year, month, day = (a, b, c) if order == "ymd" else (c, b, a) if order == "dmy" else (c, a, b)
    hour, half = int(found[4] or 0), (found[8] or "").lower()
    if half:
        if not 1 <= hour <= 12:
            raise ValueError(f"the hour must be 1 to 12 before {half}, got {hour}")
        hour = hour % 12 + (12 if half.startswith("p") else 0)
    micro = int((found[7] or "0").ljust(6, "0")[:6])
    full_year = year + 2000 if year < 100 else year
    return datetime(full_year, month, day, hour, int(found[5] or 0), int(found[6] or 0), micro)  # noqa: DTZ001 wall time


def _said_offset_ms(text: str) -> int:
    if text in ("Z", "UTC", "GMT"):
        return 0
    sign = -1 if text[0] == "-" else 1
    digits = text[1:].replace(":", "")
    return sign * (int(digits[:2]) * 60 + int(digits[2:])) * 60_000


def row_reader(form: LogForm, now_ms: int) -> Callable[[list[str]], Row]:
    """A function that reads the rows of one log, in their order.

    Args:
        form: how it is written. now_ms: times after it are refused [ms].
    Returns:
        A function from cells to a row; it raises nothing.
    """
    clock, faults, times = Clock(form), frozenset(form.fault_numbers), form.time_columns
    furthest, width = max(times), max(*times, *(c.number for c in form.columns)) + 1
    earliest_ms, latest_ms = EARLIEST_MS, now_ms + AHEAD_MS

    def read(cells: list[str]) -> Row:
        if len(cells) < width:
            if not any(cell.strip() for cell in cells):
                return NOTHING
            if len(cells) <= furthest:
                return Row((), f"a row has {len(cells)} columns, its time is in column {furthest + 1}")
            cells = [*cells, *[""] * (width - len(cells))]
        said = cells[times[0]] if len(times) == 1 else f"{cells[times[0]].strip()} {cells[times[1]].strip()}"
        taken_ms = clock.ms(said)
        if taken_ms is None:
            return Row((), "a time cannot be read") if any(cell.strip() for cell in cells) else NOTHING
        if not earliest_ms <= taken_ms <= latest_ms:
            return Row((), "a time lies before 2000 or in the future")
        return _samples(form, cells, taken_ms, faults)

    return read


def _samples(form: LogForm, cells: list[str], taken_ms: int, faults: frozenset[float]) -> Row:
    found, refused = [], ""
    for column in form.columns:
        text = cells[column.number]
        value = number_of(text, form.decimal)
        if value is None:
            if text.strip().lower() not in FAULT_WORDS:
                refused = f"{column.field}: not a number"
        elif value not in faults and abs(value) < 1e15:
            found.append(Sample(column.field, taken_ms, value, column.unit, column.quantity, Mark.IMPORTED))
    return Row(tuple(found), refused)


def rows(cells: Iterable[list[str]], form: LogForm, now_ms: int) -> Iterator[Row]:
    """Every row of a log, after the lines to skip."""
    read = row_reader(form, now_ms)
    for number, row in enumerate(cells):
        if number >= form.skip:
            yield read(row)
