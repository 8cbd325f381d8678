"""A pasted table of wheels: its separator, its heading and its columns guessed, to be confirmed; pure."""

import csv
import io
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from collector.errors import EntryRefused
from dashboard.wheels.days_typed import Habits, parse_day
from dashboard.wheels.existing import (
    COVERED,
    LIKELY,
    MAX_LINE,
    MAX_LINES,
    SURE,
    UNSURE,
    Found,
    Guess,
    Known,
    Match,
    best_name,
    best_style,
    name_twins,
)
from dashboard.wheels.measures import LENGTH, parse, parse_weight_g

SEPARATORS = ("\t", ";", ",", "|")
MAX_COLUMNS = 40
NOTHING = frozenset({"", "-", "--", "?", "n/a", "na", "none", "null", "."})

# What a column can be, and the words of a heading that say so.
COLUMNS: dict[str, tuple[str, ...]] = {
    "code": ("code", "id", "nr", "no", "number", "label", "wheel", "name", "tag", "#"),
    "style_id": ("style", "type", "kind", "cheese", "recipe", "variety"),
    "made_on": ("made", "date", "day", "made on", "born", "make date", "production"),
    "weight_g": ("weight", "wt", "mass", "kg", "g", "lb", "lbs", "grams"),
    "place_id": ("place", "where", "location", "cave", "shelf", "fridge", "cellar", "stands"),
    "covering": ("covering", "cover", "coating", "wrap", "rind", "packed"),
    "pieces": ("pieces", "pcs", "count", "how many", "quantity", "qty"),
    "diameter_mm": ("diameter", "across", "size", "width"),
    "notes": ("notes", "note", "remarks", "remark", "comment", "comments", "text"),
}
SKIP = "skip"


@dataclass(frozen=True, slots=True)
class Column:
    """One column: what it is guessed to be (a name out of COLUMNS, or "skip"), how sure, its heading, its unit."""

    kind: str
    confidence: float
    heading: str = ""
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Pasted:
    """A table as it was pasted: its columns as guessed, and its rows without the heading, cells as text."""

    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    separator: str


def is_table(text: str) -> bool:
    """Whether a text is a table rather than free lines: a separator that cuts most lines into as many cells."""
    lines = [line for line in text.splitlines() if line.strip()][:MAX_LINES]
    return bool(lines) and _separator(lines) is not None


def read_table(text: str, habits: Habits, known: Known) -> Pasted:
    """Cut a pasted table into cells and guess its columns.

    Args:
        text: lines of cells between tabs, semicolons, commas or bars; cells may stand in quotes.
        habits, known: as for `existing.read_lines`.
    Raises:
        EntryRefused: it is no table, or has more than 2000 rows or 40 columns.
    """
    lines = [line for line in text.splitlines() if line.strip()]
    separator = _separator(lines[:MAX_LINES])
    rows = _cells(lines, separator) if separator else []
    if separator is None or not rows:
        raise EntryRefused("table", "table has no tabs, semicolons, commas or bars that cut every line alike")
    width = max(len(row) for row in rows)
    if len(rows) > MAX_LINES + 1 or width > MAX_COLUMNS:
        raise EntryRefused(
            "table", f"table must be at most {MAX_LINES} rows and {MAX_COLUMNS} columns, got {len(rows)} and {width}"
        )
    full = [tuple(cell.strip() for cell in (*row, *[""] * (width - len(row)))) for row in rows]
    headed = _is_heading(full[0], habits)
    heading, body = (full[0], full[1:]) if headed else (("",) * width, full)
    return Pasted(_columns(heading, body, habits, known), tuple(body), separator)


def _cells(lines: Sequence[str], separator: str) -> list[list[str]]:
    text = io.StringIO("\n".join(lines))
    try:
        return [row for row in csv.reader(text, delimiter=separator, skipinitialspace=True) if any(row)]
    except csv.Error as error:
        raise EntryRefused("table", f"table cannot be cut into cells: {error}") from error


def _separator(lines: Sequence[str]) -> str | None:
    """The separator that cuts most lines into the same number of cells, two at least; tabs win over commas."""
    best: tuple[float, str] | None = None
    for separator in SEPARATORS if lines else ():
        counts = Counter(line.count(separator) for line in lines)
        usual, times = counts.most_common(1)[0]
        share = times / len(lines)
        # One line alone is a table only with tabs or bars: people write commas and semicolons in free text.
        enough = usual >= 1 and share >= 0.6 and (len(lines) > 1 or separator in "\t|")
        if enough and (best is None or share > best[0] + 0.2):
            best = (share, separator)
    return best[1] if best else None


def _is_heading(row: Sequence[str], habits: Habits) -> bool:
    """A heading has words that name columns, and no cell that could be a value."""
    named = sum(_by_heading(cell) is not None for cell in row)
    return named > 0 and not any(_day(cell, habits) or re.search(r"\d", cell) for cell in row)


def _columns(
    heading: Sequence[str], rows: Sequence[tuple[str, ...]], habits: Habits, known: Known
) -> tuple[Column, ...]:
    """Each column by its heading, else by what its cells can be read as; no kind is given twice but notes."""
    found: list[Column] = []
    given: set[str] = set()
    for words in heading:
        kind = _by_heading(words)
        if kind is not None and kind in given and kind != "notes":
            kind = None
        given |= {kind} if kind else set()
        found.append(Column(kind or SKIP, SURE if kind else 0, words, _unit_in(words)))
    scores = [_scores([row[n] for row in rows], habits, known) for n in range(len(found))]
    for kind in ("made_on", "weight_g", "place_id", "style_id", "covering", "code", "pieces"):
        open_ones = [n for n, column in enumerate(found) if column.kind == SKIP]
        best = max(open_ones, key=lambda n: scores[n].get(kind, 0), default=None)
        if kind not in given and best is not None and scores[best].get(kind, 0) >= 0.5:
            found[best] = replace(found[best], kind=kind, confidence=LIKELY if scores[best][kind] > 0.8 else UNSURE)
            given.add(kind)
    return tuple(_notes(c, [row[n] for row in rows]) for n, c in enumerate(found))


def _notes(column: Column, cells: Sequence[str]) -> Column:
    """A column of words that is nothing else is notes; one that is blank stays out."""
    if column.kind != SKIP or not any(not _nothing(cell) for cell in cells):
        return column
    return replace(column, kind="notes", confidence=UNSURE)


def _by_heading(words: str) -> str | None:
    folded = re.sub(r"[(\[].*?[)\]]", " ", words.casefold())
    folded = " ".join(re.sub(r"[_.:]", " ", folded).split())
    if not folded or len(folded) > 40:
        return None
    for kind, names in COLUMNS.items():
        if folded in names:
            return kind
    tokens = folded.split()
    return next((kind for kind, names in COLUMNS.items() if any(name in tokens for name in names)), None)


def _unit_in(words: str) -> str:
    found = re.search(r"(?<![a-z])(kg|g|lbs?|oz|grams|mm|cm|in)(?![a-z])", words.casefold())
    return found[1].rstrip("s") if found and found[1] in {"lbs"} else (found[1] if found else "")


def _scores(cells: Sequence[str], habits: Habits, known: Known) -> dict[str, float]:
    """For each kind the share of the cells that can be read as it; blanks say nothing."""
    said = [cell for cell in cells if not _nothing(cell)]
    if not said:
        return {}
    share = {
        "made_on": sum(_day(cell, habits) is not None for cell in said),
        "weight_g": sum(_weighs(cell) for cell in said),
        "place_id": sum(_is_sure(best_name(cell, known.places)) for cell in said),
        "style_id": sum(_is_sure(best_style(cell, known.styles)) for cell in said),
        "covering": sum(cell.casefold() in COVERED for cell in said),
        "pieces": sum(cell.isdigit() and 2 <= int(cell[:5]) <= 200 for cell in said),
        "code": len(set(said)) * all(len(cell) <= 20 and any(c.isdigit() for c in cell) for cell in said),
    }
    return {kind: times / len(said) for kind, times in share.items()}


def _is_sure(found: Match | None) -> bool:
    return found is not None and found[2] >= LIKELY


def _weighs(cell: str) -> bool:
    """A weight has its unit, or is a number with decimals or in the hundreds of grams."""
    try:
        parse_weight_g(cell, "kg" if re.fullmatch(r"\d{1,2}[.,]\d{1,3}", cell.strip()) else "g")
    except EntryRefused:
        return False
    return not cell.strip().isdigit() or int(cell) >= 100


def _nothing(cell: str) -> bool:
    return cell.strip().casefold() in NOTHING


def _day(cell: str, habits: Habits) -> Any:
    try:
        day = parse_day(cell, habits)
    except EntryRefused:
        return None
    return day if day <= habits.today else None


def found_in(table: Pasted, habits: Habits, known: Known, default_unit: str = "kg") -> list[Found]:
    """The wheels of a table whose columns a person confirmed.

    Args:
        table: with the confirmed columns in `columns`.
        habits, known: as for `existing.read_lines`.
        default_unit: of weights without a unit in cell or heading.
    A cell that cannot be read is kept in the notes and named as a problem; blank cells are blank.
    """
    units = [column.unit or default_unit for column in table.columns]
    found = [_found(row, table.columns, units, habits, known) for row in table.rows if not all(map(_nothing, row))]
    return name_twins(found, known)


def _found(row: Sequence[str], columns: Sequence[Column], units: Sequence[str], habits: Habits, known: Known) -> Found:
    fields: dict[str, Guess] = {}
    problems: list[tuple[str, str]] = []
    notes: list[str] = []
    for cell, column, unit in zip(row, columns, units, strict=True):
        if _nothing(cell) or column.kind == SKIP:
            continue
        if column.kind == "notes" or len(cell) > MAX_LINE:
            notes.append(cell[:MAX_LINE])
            continue
        try:
            fields[column.kind] = _value(cell, column.kind, unit, habits, known)
        except EntryRefused as refused:
            problems.append((column.kind, str(refused)))
            notes.append(f"{column.heading or column.kind}: {cell}")
    if notes:
        fields["notes"] = Guess(" / ".join(notes), SURE, " / ".join(notes))
    return Found(" | ".join(row), fields, tuple(problems))


def _value(cell: str, kind: str, unit: str, habits: Habits, known: Known) -> Guess:
    if kind == "weight_g":
        return Guess(parse_weight_g(cell, unit), SURE, cell)
    if kind == "diameter_mm":
        return Guess(parse(cell, LENGTH, unit if unit in LENGTH.by_word else "cm", "diameter"), SURE, cell)
    if kind == "made_on":
        return _made_on(cell, habits)
    if kind in {"place_id", "style_id"}:
        return _of_names(cell, kind, known)
    if kind == "covering":
        return _covering(cell)
    return _pieces(cell) if kind == "pieces" else Guess(cell, SURE, cell)


def _made_on(cell: str, habits: Habits) -> Guess:
    day = parse_day(cell, habits, field="made")
    if day > habits.today:
        raise EntryRefused("made_on", f"made must not be after today, got {cell!r}")
    return Guess(day, SURE, cell)


def _of_names(cell: str, kind: str, known: Known) -> Guess:
    ids = known.places if kind == "place_id" else known.styles
    match = best_name(cell, ids) if kind == "place_id" else best_style(cell, ids)
    if match is None:
        word = "place" if kind == "place_id" else "style"
        raise EntryRefused(kind, f"{word} is not among yours, got {cell[:60]!r}")
    return Guess(ids[match[1]], match[2], cell)


def _covering(cell: str) -> Guess:
    name = COVERED.get(cell.strip().casefold())
    if name is None:
        raise EntryRefused("covering", f"covering is not known, got {cell[:60]!r}")
    return Guess(name, SURE, cell)


def _pieces(cell: str) -> Guess:
    digits = re.match(r"\s*(\d{1,4})", cell)
    if digits is None or int(digits[1]) < 1:
        raise EntryRefused("pieces", f"pieces must be a number from 1, got {cell[:60]!r}")
    return Guess(int(digits[1]), SURE, cell)
