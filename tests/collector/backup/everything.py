"""Everything in a data folder, read by other means than the backup's own."""

import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

DATABASES = ("readings.sqlite3", "records.sqlite3")


def every_row(path: Path) -> dict[str, list[Any]]:
    """Every row of every table of a database."""
    with closing(sqlite3.connect(path)) as db:
        names = [row[0] for row in db.execute("SELECT name FROM sqlite_schema WHERE type='table'")]
        return {name: sorted(db.execute(f'SELECT * FROM "{name}"').fetchall(), key=repr) for name in names}


def every_file(data: Path) -> dict[str, bytes]:
    """Every other file that matters, by its path."""
    files = [p for p in data.rglob("*") if p.is_file() and not p.name.startswith(DATABASES)]
    found = {p.relative_to(data).as_posix(): p.read_bytes() for p in files}
    skipped = ("cache/", "import/done/", "copies/")
    return {name: text for name, text in found.items() if not name.startswith(skipped) and not name.endswith(".lock")}
