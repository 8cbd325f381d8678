"""The book as a file: out of one house and into another."""

import csv
import io
import json
import zipfile

from fastapi.testclient import TestClient
from sqlalchemy import Engine, delete

from dashboard.wheels import tables
from dashboard.wheels.bodies.doings import Tasting
from dashboard.wheels.book import wheels
from dashboard.wheels.tables import metadata
from tests.dashboard.book_kept import a_wheel, enter
from tests.dashboard.dairy import a_place


def emptied(engine: Engine) -> None:
    with engine.begin() as db:
        for table in metadata.tables.values():
            db.execute(delete(table))


def test_the_whole_book_goes_out_and_comes_in_again(owner: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        wheel = a_wheel(db, "A1", 60, a_place(db), (2_000.0, 1_900.0))
        enter(db, Tasting(verdict=4, flavour="=1+1"), 1, wheel_id=wheel)
    answer = owner.get("/settings/book/export.zip")
    assert answer.headers["content-disposition"].endswith('filename="wheel-book-2026-03-12.zip"')
    with zipfile.ZipFile(io.BytesIO(answer.content)) as file:
        lines = [json.loads(line) for line in file.read("book.jsonl").splitlines()]
        assert "tables/wheel.csv" in file.namelist()
    assert len(lines) > 5
    emptied(engine)
    for told in ("5 entries taken in, 0 here already.", "0 entries taken in, 5 here already."):
        page = owner.post("/settings/book/import", files={"file": ("book.zip", answer.content)}).text
        assert told in page
    with engine.begin() as db:
        (found,) = wheels(db)
    assert (found.id, found.code, found.net_g) == (wheel, "A1", 1_900)


def test_a_table_is_read_by_a_spreadsheet_and_holds_no_formula(owner: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        a_wheel(db, "=HYPERLINK(1)")
    answer = owner.get("/settings/book/wheel.csv")
    (row,) = csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig")))
    assert row["code"] == "'=HYPERLINK(1)"
    assert owner.get("/settings/book/person.csv").status_code == 404


def test_a_file_that_is_no_book_is_refused_whole(owner: TestClient, engine: Engine) -> None:
    cut_off = owner.get("/settings/book/export.zip").content[:-10]
    for content, said in ((b"not a book", "Nothing was taken in"), (cut_off, "Nothing was taken in")):
        answer = owner.post("/settings/book/import", files={"file": ("book.zip", content)})
        assert answer.status_code == 422
        assert said in answer.text
    assert owner.post("/settings/book/import", files={"file": ("book.zip", b"")}).status_code == 422
    with engine.begin() as db:
        assert db.execute(tables.entry.select()).all() == []


def test_the_book_is_the_owners_to_carry_away(helper: TestClient) -> None:
    for path in ("/settings/book", "/settings/book/export.zip", "/settings/book/wheel.csv"):
        assert helper.get(path).status_code == 403
    assert helper.post("/settings/book/import", files={"file": ("b", b"x")}).status_code == 403
