"""Forms about one wheel that change what or where it is: cover, cut, lift out, count, end, change its sheet."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter, HTTPException
from starlette.responses import Response

from collector.errors import EntryRefused
from collector.records.columns import new_id
from dashboard.forms import Form
from dashboard.pages.wheel import NO_WHEEL
from dashboard.rounds.entering import sheet_of
from dashboard.rounds.posted import flagged, store
from dashboard.rounds.typed import Asked
from dashboard.visit import Helper, Texts, Visit
from dashboard.wheels import tables
from dashboard.wheels.book import Wheel, makes, wheels
from dashboard.wheels.kinds.coverings import COVERINGS
from dashboard.wheels.kinds.endings import ENDINGS
from dashboard.wheels_shown.doing import DOINGS, HEATS, MOST_PARTS, SHAPES, SPECIES, sheet_texts
from dashboard.wheels_shown.naming import style_names
from dashboard.wheels_shown.one import make_words

router = APIRouter()
NO_CHOICE = {"": "not said"}


@dataclass(frozen=True, slots=True)
class DoingPage:
    template: ClassVar[str] = "wheel_doing.html"
    title: str
    wheel: Wheel
    doing: str
    button: str
    seed: str
    form: Form
    choices: Mapping[str, Mapping[str, str]]
    parts: range


@router.get("/wheels/{wheel_id}/do/{doing}")
def show(visit: Helper, wheel_id: str, doing: str) -> Response:
    wheel = _found(visit, wheel_id, doing)
    texts = {
        "covered": {"covering": wheel.covering, "coats": "1"}, "counted": {"pieces": str(wheel.pieces_left)},
        "cut": {"parts": "2"}, "lifted": {"pieces": "1"}, "wheel": sheet_texts(wheel),
    }  # fmt: skip
    return visit.page(_page(visit, wheel, doing, Form(texts.get(doing, {}))))


@router.post("/wheels/{wheel_id}/do/{doing}")
def do(visit: Helper, wheel_id: str, doing: str, texts: Texts) -> Response:
    wheel = _found(visit, wheel_id, doing)
    asked = Asked(texts, visit.household, visit.now_at)
    try:
        sheet = sheet_of(asked, wheel_id, doing)
        stored = store(visit, DOINGS[doing][2](asked, wheel, sheet))
    except EntryRefused as refused:
        return visit.refused(_page(visit, wheel, doing, Form(texts).wrong(refused.field, str(refused))))
    path = f"/wheels/{wheel_id}"
    return visit.go(path, f"Kept. {flagged(stored)}".strip(), undo=f"/round/undo/{sheet.group_id}?back={path}")


def _found(visit: Visit, wheel_id: str, doing: str) -> Wheel:
    with visit.looking() as db:
        found = wheels(db, tables.wheel.c.id == wheel_id)
    if not found or doing not in DOINGS:
        raise HTTPException(404, NO_WHEEL)
    return found[0]


def _page(visit: Visit, wheel: Wheel, doing: str, form: Form) -> DoingPage:
    covers = {name: row.word for name, row in COVERINGS.items()}
    choices: dict[str, Mapping[str, str]] = {
        "covering": covers, "part_covering": {"": "as the wheel was", **covers},
        "how": {name: row.word for name, row in ENDINGS.items()}, "shape": SHAPES, "species": SPECIES, "heat": HEATS,
        "rest": {"": "nothing else", "eaten": "eaten", "sold": "sold", "given": "given away", "thrown": "thrown away"},
    }  # fmt: skip
    if doing == "wheel":
        with visit.looking() as db:
            choices["style"] = {**NO_CHOICE, **style_names(db)}
            choices["make"] = {**NO_CHOICE, **{make.id: make_words(make, visit.household) for make in makes(db)}}
    heading, button, _reads = DOINGS[doing]
    title = f"{heading} {wheel.code}".strip()
    seed = form.text("seed") or new_id()
    return DoingPage(title, wheel, doing, button, seed, form, choices, range(1, MOST_PARTS + 1))
