"""SQLite's own names in the log: its text alone does not tell one trouble from another."""

import logging
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy.exc import OperationalError

from collector.database_code import NO_CODE, database_code
from collector.duties import Duty
from collector.errors import StoreUnavailable


def removed_in_its_midst(folder: Path) -> None:
    """Without a write-ahead log a commit removes the journal, and finds it gone: seen in a demo that was put away."""
    folder.mkdir()
    with closing(sqlite3.connect(folder / "a.sqlite3", isolation_level=None)) as db:
        db.execute("CREATE TABLE t (x)")
        db.execute("BEGIN IMMEDIATE")
        db.execute("INSERT INTO t VALUES (1)")
        shutil.rmtree(folder)
        db.execute("COMMIT")


# Names and what they stand for: https://sqlite.org/rescode.html, "SQLITE_IOERR_DELETE_NOENT".
def test_the_name_is_found_in_the_error_its_wrapper_and_its_cause(tmp_path: Path) -> None:
    with pytest.raises(sqlite3.OperationalError, match="disk I/O error") as told:
        removed_in_its_midst(tmp_path / "a")
    assert database_code(told.value) == "SQLITE_IOERR_DELETE_NOENT"
    assert database_code(OperationalError("COMMIT", {}, told.value)) == "SQLITE_IOERR_DELETE_NOENT"
    ours = StoreUnavailable("a", 3)
    ours.__cause__ = told.value
    assert database_code(ours) == "SQLITE_IOERR_DELETE_NOENT"


def test_what_sqlite_did_not_say_has_no_name() -> None:
    assert database_code(OSError("no")) == database_code(None) == NO_CODE


def test_a_duty_that_fails_logs_the_name(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level(logging.WARNING):
        Duty("watch", lambda: removed_in_its_midst(tmp_path / "a"), every_s=1).perform()
    [line] = caplog.messages
    assert line == "duty_failed name=watch code=SQLITE_IOERR_DELETE_NOENT reason=disk I/O error"
