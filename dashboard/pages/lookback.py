"""Look-back: what was different about the air before a rind note. Opened from the note; the file to share beside it."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter, HTTPException
from starlette.responses import Response

from dashboard import words
from dashboard.errors_shown import Trouble
from dashboard.lookback_child import look_back_in_child
from dashboard.lookback_shown import LookBackShown, shown
from dashboard.rounds.shelves import look
from dashboard.visit import Guest, Visit
from dashboard.wheels.vat_time import bout_of
from dashboard.wheels_shown.vat_square import VatShown, square_shown

router = APIRouter()
NO_NOTE = Trouble(404, "There is no such rind note.", "It may have been corrected: open the wheel and look there.")
LOOKS = ("rindwatch.css", "wheels.css", "air.css", "lookback.css")


@dataclass(frozen=True, slots=True)
class LookBackPage:
    """The look-back of one note."""

    template: ClassVar[str] = "lookback.html"
    title: str
    back_path: str
    back_word: str
    shown: LookBackShown
    square: VatShown
    vat_path: str
    file_path: str


@dataclass(frozen=True, slots=True)
class LookBackFile:
    """The same as one file; `looks` is the style sheet that it carries."""

    template: ClassVar[str] = "lookback_file.html"
    shown: LookBackShown
    square: VatShown
    looks: str
    written: str


def path_of(note_id: str) -> str:
    """Where a rind note's look-back stands."""
    return f"/rind/notes/{note_id}/look-back"


@router.get("/rind/notes/{note_id}/look-back")
def of_note(visit: Guest, note_id: str) -> Response:
    whole, square, wheel_path, code = _found(visit, note_id)
    vat_path = f"/rind/notes/{note_id}/vat-or-cave"
    return visit.page(LookBackPage("Look-back", wheel_path, code, whole, square, vat_path, f"{path_of(note_id)}/file"))


@router.get("/rind/notes/{note_id}/look-back/file")
def to_share(visit: Guest, note_id: str) -> Response:
    whole, square, _, _ = _found(visit, note_id)
    assets = [visit.house.assets.find(name) for name in LOOKS]
    looks = "\n".join(asset.path.read_text(encoding="utf-8") for asset in assets if asset is not None)
    page = LookBackFile(whole, square, looks, words.long_date(visit.now_at, visit.household))
    html = visit.house.templates.render(page.template, visit.household, page=page)
    name = "".join(c if c.isascii() and c.isalnum() else "-" for c in whole.what.lower())
    headers = {"Content-Disposition": f'attachment; filename="look-back-{name}.html"', "Cache-Control": "no-store"}
    return Response(html, media_type="text/html", headers=headers)


def _found(visit: Visit, note_id: str) -> tuple[LookBackShown, VatShown, str, str]:
    settings, household = visit.house.settings, visit.household
    found = look_back_in_child(settings.readings_path, settings.records_at, note_id, visit.now_at, household.time_zone)
    with visit.looking() as db:
        bout = bout_of(db, note_id, household.zone)
        if found is None or bout is None:
            raise HTTPException(404, NO_NOTE)
        looked = look(db, visit.now_at, household)
        square = square_shown(db, bout, looked)
    return shown(found, square, looked), square, f"/wheels/{found.wheel_id}", found.code or "The wheel"
