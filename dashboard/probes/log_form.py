"""How an old log is written, as a form: filled from the guess, read back, and tried on its first rows."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from collector.errors import EntryRefused
from collector.importing.csv_form import FAULT_NUMBERS, MOST_COLUMNS, LogForm, ValueColumn, number_of, row_reader
from collector.importing.csv_guess import Guess, cells_of
from collector.records.columns import from_ms, to_ms
from dashboard.amounts import amount, quantities_and_units
from dashboard.household import Household
from dashboard.probes.connecting import probe_name_typed, topic_of

HEAD = 65_536  # bytes that the guess looks at
OLD_MONTHS = 120  # our choice: how far back a household's loggers reach
MOST_TRIED = 200
MOST_SHOWN = 4
NEW = ""
NONE = "none"
ORDERS: Mapping[str, str] = {
    "ymd": "Year, month, day", "dmy": "Day, month, year", "mdy": "Month, day, year",
    "unix_s": "Seconds since 1970", "unix_ms": "Milliseconds since 1970",
}  # fmt: skip
DECIMALS: Mapping[str, str] = {".": "A point: 11.5", ",": "A comma: 11,5"}
DELIMITERS: Mapping[str, str] = {";": "semicolon", ",": "comma", "\t": "tab", "|": "bar"}
CLOCKS = ("summer", "winter", "utc")


@dataclass(frozen=True, slots=True)
class Tried:
    """A row as it would be taken in."""

    at: datetime
    values: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Trial:
    """The first rows, how many of those looked at could not be read and why, and when the first was taken."""

    rows: tuple[Tried, ...]
    looked_at: int
    refused: int
    why: str
    first_at: datetime | None


def clocks(household: Household, now_at: datetime) -> dict[str, str]:
    """The clocks that a logger may have gone by, without those that would be the same here."""
    zone, days = household.time_zone, [now_at - timedelta(days=30 * back) for back in range(OLD_MONTHS)]
    if any(day.astimezone(household.zone).dst() for day in days):
        return {
            "summer": f"{zone}, put forward in summer", "winter": f"{zone}, winter time all year", "utc": "UTC",
        }  # fmt: skip
    if any(day.astimezone(household.zone).utcoffset() for day in days):
        return {"summer": zone, "utc": "UTC"}
    return {"summer": "UTC" if zone.endswith("UTC") else f"{zone}, the same as UTC"}


def head_of(path: Path) -> bytes:
    with path.open("rb") as file:
        return file.read(HEAD)


def texts_of(found: Guess, name: str = "") -> dict[str, str]:
    """The guess as a form's texts; a new probe is called after its file until somebody says better."""
    times = [str(number) for number in found.time_columns]
    texts = {
        "delimiter": found.delimiter, "decimal": found.decimal, "skip": str(found.skip), "order": found.order,
        "time": times[0] if times else NONE, "time2": times[1] if len(times) > 1 else NONE, "clock": "summer",
        "faults": ", ".join(f"{number:g}" for number in FAULT_NUMBERS), "probe": NEW,
        "name": name,
    }  # fmt: skip
    for column in found.columns:
        texts[f"c{column.number}"] = f"{column.quantity}|{column.unit}" if column.quantity else ""
    return texts


def read(texts: Mapping[str, str], found: Guess, household: Household, topics: Mapping[str, str]) -> LogForm:
    """What was confirmed.

    Args:
        texts: the form's. found: the guess that it was filled from. topics: of the known probes, by name.
    Raises:
        EntryRefused: the first field that cannot be taken.
    """
    columns = _columns(texts, found)
    known = texts.get("probe", NEW)
    if known and known not in topics:
        raise EntryRefused("probe", "Take one of the probes, or name a new one.")
    probe = known or probe_name_typed(texts.get("name", ""))
    clock = texts.get("clock")
    if clock not in CLOCKS:
        raise EntryRefused("clock", "Say by which clock it was written.")
    return LogForm(
        encoding=found.encoding,
        delimiter=_one_of(texts, "delimiter", DELIMITERS),
        decimal=_one_of(texts, "decimal", DECIMALS),
        skip=_whole(texts, "skip", 1_000),
        time_columns=_times(texts),
        order=_one_of(texts, "order", ORDERS),
        zone="UTC" if clock == "utc" else household.time_zone,
        winter_all_year=clock == "winter",
        columns=columns,
        probe=probe,
        topic=topics.get(probe) or topic_of(probe),
        fault_numbers=_faults(texts.get("faults", "")),
    )


def _one_of(texts: Mapping[str, str], name: str, allowed: Mapping[str, str]) -> str:
    if texts.get(name) not in allowed:
        raise EntryRefused(name, "Take one of the choices.")
    return texts[name]


def _whole(texts: Mapping[str, str], name: str, most: int) -> int:
    text = texts.get(name, "").strip()
    if not text.isdecimal() or int(text) > most:
        raise EntryRefused(name, f"It must be a whole number from 0 to {most}, got {text or 'nothing'}.")
    return int(text)


def _times(texts: Mapping[str, str]) -> tuple[int, ...]:
    first = texts.get("time", NONE)
    if first == NONE:
        raise EntryRefused("time", "Say in which column the time stands.")
    numbers = [_whole(texts, "time", MOST_COLUMNS - 1)]
    if texts.get("time2", NONE) != NONE:
        numbers.append(_whole(texts, "time2", MOST_COLUMNS - 1))
    return tuple(numbers)


def _columns(texts: Mapping[str, str], found: Guess) -> tuple[ValueColumn, ...]:
    """The columns that are taken in; a field is called after its quantity, a second one with a number."""
    columns: list[ValueColumn] = []
    for column in found.columns:
        meaning = texts.get(f"c{column.number}", "")
        if not meaning:
            continue
        if meaning not in quantities_and_units():
            raise EntryRefused(f"c{column.number}", "Take one of the meanings in the list.")
        quantity, _, unit = meaning.partition("|")
        before = sum(one.quantity == quantity for one in columns)
        columns.append(ValueColumn(column.number, f"{quantity}_{before + 1}" if before else quantity, quantity, unit))
    if not columns:
        raise EntryRefused("columns", "Say of one column at least what it measures.")
    return tuple(columns)


def _faults(text: str) -> tuple[float, ...]:
    found = [number_of(part, ".") for part in text.replace(";", ",").split(",") if part.strip()]
    if any(number is None for number in found):
        raise EntryRefused("faults", "Write numbers with a comma between them, like -200, -999.")
    return tuple(number for number in found if number is not None)


def try_on(head: bytes, form: LogForm, household: Household, now_at: datetime) -> Trial:
    """The first rows of a log by a form."""
    lines = head.decode(form.encoding, errors="replace").replace("\0", "").splitlines()
    data = cells_of(lines[: form.skip + MOST_TRIED], form.delimiter)[form.skip :]
    read_row, shown, refused = row_reader(form, to_ms(now_at)), [], []
    for cells in data:
        row = read_row(cells)
        if row.refused:
            refused.append(row.refused)
        if row.samples:
            said = tuple(f"{s.field.replace('_', ' ')} {amount_sent(s.value, s.unit, household)}" for s in row.samples)
            shown.append(Tried(from_ms(row.samples[0].taken_ms), said))
    first_at = min((one.at for one in shown), default=None)
    return Trial(tuple(shown[:MOST_SHOWN]), len(data), len(refused), refused[0] if refused else "", first_at)


def amount_sent(value: float, unit: str, household: Household) -> str:
    """A number as the log has it, with its unit."""
    return amount(value, None, household, unit)
