"""Reads the tables of published and library values that stand in `tests/references/tables`.

Each file opens with lines behind "#" that name its source; a cell without a value is empty and is read as NaN.
"""

import csv
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

TABLES = Path(__file__).parent / "tables"


def table(name: str) -> dict[str, NDArray[np.float64]]:
    """The columns of one table by name."""
    with (TABLES / f"{name}.csv").open(encoding="utf-8") as lines:
        rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    return {column: np.array([float(row[column] or "nan") for row in rows]) for column in rows[0]}
