"""One wheel: what it is, its weights, where it has been, its life, photos, tastings and parts; and by its code."""

from dataclasses import dataclass
from typing import ClassVar
from urllib.parse import quote

from fastapi import APIRouter, HTTPException
from starlette.responses import FileResponse, Response

from dashboard.api.entries import photos_folder
from dashboard.errors_shown import Trouble
from dashboard.forms import Form
from dashboard.rounds.model import Row
from dashboard.rounds.shelves import look, row
from dashboard.visit import Guest, Visit
from dashboard.wheels.book import find, wheel_book
from dashboard.wheels.codes import read_short_code
from dashboard.wheels.labels_given import subject_of
from dashboard.wheels.photo_files import HASH, photo_path
from dashboard.wheels_shown.listing import state_word
from dashboard.wheels_shown.one import OneWheel, Photo, one_wheel, photos

router = APIRouter()
FOR_EVER = {"Cache-Control": "private, max-age=31536000, immutable"}
MOST_LINES, ALL_LINES = 40, 100_000
NO_WHEEL = Trouble(404, "There is no such wheel.", "Look on its label, or find it on the list of wheels.")
NO_LABEL = Trouble(404, "This label is not in the book.", "It may be another household's, or made on another machine.")


@dataclass(frozen=True, slots=True)
class WheelPage:
    """`ended`: what it came to, in words; "" while it ripens. `others`: further wheels of the same code."""

    template: ClassVar[str] = "wheel.html"
    title: str
    row: Row
    one: OneWheel
    ended: str
    others: tuple[tuple[str, str], ...]
    may_change: bool


@dataclass(frozen=True, slots=True)
class PhotosPage:
    template: ClassVar[str] = "wheel_photos.html"
    title: str
    wheel_id: str
    photos: tuple[Photo, ...]
    left: Photo | None
    right: Photo | None
    form: Form
    choices: dict[str, str]


@router.get("/w/{code}")
def by_label(visit: Guest, code: str) -> Response:
    """Where the QR code of a label leads."""
    read = read_short_code(code)
    with visit.looking() as db:
        subject = subject_of(db, read) if read else None
    if subject is None:
        raise HTTPException(404, NO_LABEL)
    of, id_ = subject
    return visit.go({"wheel": f"/wheels/{id_}", "place": f"/wheels#s-{id_}"}.get(of, "/gear"))


@router.get("/photos/{name}")
def photo(visit: Guest, name: str) -> Response:
    """A photo by the hash of its bytes; what it shows never changes."""
    content_hash = name.removesuffix(".jpg")
    if not HASH.fullmatch(content_hash):
        raise HTTPException(404)
    path = photo_path(photos_folder(visit.house.settings), content_hash)
    if not path.is_file():
        raise HTTPException(404)
    return FileResponse(path, media_type="image/jpeg", headers=FOR_EVER)


@router.get("/wheels/{wheel_id}/photos")
def side_by_side(visit: Guest, wheel_id: str, left: str = "", right: str = "") -> Response:
    """Two photos of a wheel beside each other: the first and the last, or those that were chosen."""
    with visit.looking() as db:
        book = wheel_book(db, wheel_id)
        if book is None:
            raise HTTPException(404, NO_WHEEL)
        found = photos(db, wheel_id, look(db, visit.now_at, visit.household))
    by_id = {one.id: one for one in found}
    one, other = by_id.get(left, found[0] if found else None), by_id.get(right, found[-1] if found else None)
    form = Form({"left": one.id if one else "", "right": other.id if other else ""})
    choices = {shown.id: shown.said for shown in found}
    title = f"Photos of {book.wheel.code or 'a wheel'}"
    return visit.page(PhotosPage(title, wheel_id, found, one, other, form, choices))


@router.get("/wheels/{key:path}")
def wheel(visit: Guest, key: str, every: str = "") -> Response:
    """A wheel by its id; by its own code or a label's it is looked up first."""
    with visit.looking() as db:
        book = wheel_book(db, key)
        found = [] if book else find(db, key)
        others = [w for w in find(db, book.wheel.code) if w.id != key] if book and book.wheel.code else []
        if book is None:
            return _looked_up(visit, key, [w.id for w in found])
        looked = look(db, visit.now_at, visit.household)
        shown = one_wheel(db, book, looked, ALL_LINES if every else MOST_LINES)
        line = row(book.wheel, looked)
    title = book.wheel.code or "A wheel without a code"
    twins = tuple((w.id, state_word(w.state)) for w in others)
    ended = "" if book.wheel.alive else state_word(book.wheel.state)
    return visit.page(WheelPage(title, line, shown, ended, twins, visit.person.may("helper")))


def _looked_up(visit: Visit, key: str, ids: list[str]) -> Response:
    if not ids:
        raise HTTPException(404, NO_WHEEL)
    return visit.go(f"/wheels/{ids[0]}" if len(ids) == 1 else f"/wheels?code={quote(key)}")
