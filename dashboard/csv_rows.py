"""Lines of CSV (RFC 4180) that are safe to open in a spreadsheet; pure."""

import csv
import io
from collections.abc import Iterable, Sequence

# A spreadsheet takes a cell that begins so for a formula (OWASP, "CSV injection"); the apostrophe makes it a text.
# The wide forms count too: some spreadsheets fold them before they look.
FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
Cell = str | float | int | None


def csv_lines(rows: Iterable[Sequence[Cell]]) -> str:
    """Rows as lines. Numbers are written as they are, None as an empty cell, texts made harmless."""
    out = io.StringIO()
    csv.writer(out, lineterminator="\r\n").writerows([[_cell(cell) for cell in row] for row in rows])
    return out.getvalue()


def _cell(cell: Cell) -> Cell:
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(FORMULA) else cell
