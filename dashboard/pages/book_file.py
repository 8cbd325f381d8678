"""The whole wheel book out as a file and in again, and each table for a spreadsheet."""

import io
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from typing import IO, Annotated, ClassVar

from fastapi import APIRouter, HTTPException, UploadFile
from fastapi import File as InFile
from starlette.responses import Response, StreamingResponse

from collector.errors import EntryRefused
from dashboard.api.entries import photos_folder
from dashboard.visit import Owner, Visit
from dashboard.wheels.csv_tables import TABLES, table_rows, write_csv
from dashboard.wheels.exchange import Imported, export_book, import_book

router = APIRouter()
PATH = "/settings/book"
MAX_FILE = 2_000_000_000  # ten years of photos; our choice
CHUNK = 1 << 16
MOST_NAMED = 20
LINES = {"place": "places", "entry": "entries", "photo": "photos", "label": "labels", "forecast": "forecasts"}


@dataclass(frozen=True, slots=True)
class BookPage:
    template: ClassVar[str] = "book_file.html"
    title: str
    tables: tuple[str, ...]
    error: str = ""
    done: tuple[str, ...] = ()
    named: tuple[str, ...] = ()


@router.get(PATH)
def book(visit: Owner) -> Response:
    return visit.page(_page())


def _page(error: str = "", done: tuple[str, ...] = (), named: tuple[str, ...] = ()) -> BookPage:
    return BookPage("The book as a file", tuple(table.name for table in TABLES), error, done, named)


@router.get(f"{PATH}/export.zip")
def export(visit: Owner) -> Response:
    """All of it: lines, photos, tables. Written beside first, so that a full disk is told and not half a file sent."""
    out = tempfile.TemporaryFile()  # noqa: SIM115 - closed when it has been sent
    try:
        export_book(visit.house.engine, photos_folder(visit.house.settings), out, visit.now_at)
    except BaseException:
        out.close()
        raise
    size = out.tell()
    headers = {
        "Content-Disposition": f'attachment; filename="wheel-book-{visit.now_at:%Y-%m-%d}.zip"',
        "Content-Length": str(size), "Cache-Control": "no-store",
    }  # fmt: skip
    return StreamingResponse(_chunks(out), media_type="application/zip", headers=headers)


def _chunks(file: IO[bytes]) -> Iterator[bytes]:
    with file:
        file.seek(0)
        while part := file.read(CHUNK):
            yield part


@router.get(f"{PATH}/{{name}}.csv")
def table(visit: Owner, name: str) -> Response:
    """One table for a spreadsheet; a cell that would be taken for a formula is shown as text."""
    found = next((one for one in TABLES if one.name == name), None)
    if found is None:
        raise HTTPException(404)
    out = io.StringIO(newline="")
    with visit.looking() as db:
        names, rows = table_rows(db, found)
        write_csv(out, names, rows)
    headers = {"Content-Disposition": f'attachment; filename="{name}.csv"', "Cache-Control": "no-store"}
    return Response(out.getvalue().encode("utf-8-sig"), media_type="text/csv; charset=utf-8", headers=headers)


@router.post(f"{PATH}/import", max_body_size=MAX_FILE)
def take_in(visit: Owner, file: Annotated[UploadFile, InFile()]) -> Response:
    """A book as it was exported. Doing it twice changes nothing; what differs here stays as it is and is named."""
    try:
        done = _imported(visit, file)
    except EntryRefused as refused:
        return visit.refused(_page(f"Nothing was taken in: {refused}"))
    named = [*(f"Kept as it is here: {one}." for one in done.conflicts), *(f"{one}." for one in done.problems)]
    more = [f"And {len(named) - MOST_NAMED} more."] if len(named) > MOST_NAMED else []
    return visit.page(_page(done=_told(done), named=tuple(named[:MOST_NAMED] + more)))


def _imported(visit: Visit, file: UploadFile) -> Imported:
    if not file.size:
        raise EntryRefused("file", "choose the file first")
    return import_book(visit.house.engine, photos_folder(visit.house.settings), file.file)


def _told(done: Imported) -> tuple[str, ...]:
    said = [f"{done.stored[kind]:,} {word} taken in, {done.same[kind]:,} here already."
            for kind, word in LINES.items() if done.stored[kind] or done.same[kind]]  # fmt: skip
    return tuple(said) or ("The file was empty.",)
