"""One make: its sheet in words, its wheels, who has a piece of its milk, and a card to print."""

from dataclasses import dataclass
from typing import Any, ClassVar

from fastapi import APIRouter
from starlette.responses import Response

from collector.errors import EntryRefused
from collector.records.columns import new_id
from dashboard import words
from dashboard.forms import Form
from dashboard.pages.makes import found_make
from dashboard.rounds.entering import Sheet, sheet_of
from dashboard.rounds.posted import flagged, many, store
from dashboard.rounds.seeded import seeded_id
from dashboard.rounds.shelves import Looked, look
from dashboard.rounds.typed import Asked, grams
from dashboard.visit import Guest, Helper, Texts, Visit
from dashboard.wheels.bodies.make import MakeSheet
from dashboard.wheels.book import Make, Wheel
from dashboard.wheels.codes import short_code, spoken
from dashboard.wheels.entries import NewEntry
from dashboard.wheels.family import everyone_with, make_again, wheels_of
from dashboard.wheels.family import milk_words as milk_of
from dashboard.wheels_shown.doing import whole_number
from dashboard.wheels_shown.listing import loss_words, state_word
from dashboard.wheels_shown.make_words import Said, sheet_words
from dashboard.wheels_shown.naming import place_names
from dashboard.wheels_shown.one import Fact, cautions, make_words

router = APIRouter()
MOST_WHEELS = 60
FOR_WHO_EATS = frozenset({"minimum_age", "sixty_days", "who_not", "bag", "in_oil"})
"""The cautions that go along with a piece; what a rind needs stays with who cares for it."""
KEEPING = "Keep it cold, in paper rather than film, and use it while it smells and tastes right."


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece that left the house."""

    whom: str
    what: str
    path: str


@dataclass(frozen=True, slots=True)
class MakePage:
    template: ClassVar[str] = "make.html"
    title: str
    make: Make
    said: tuple[Said, ...]
    wheels: tuple[Fact, ...]
    pieces: tuple[Piece, ...]
    next_time: str
    next_step: str
    form: Form
    places: dict[str, str]
    seed: str
    may_change: bool


@dataclass(frozen=True, slots=True)
class CardPage:
    template: ClassVar[str] = "make_card.html"
    title: str
    dairy: str
    style: str
    facts: tuple[Fact, ...]
    cautions: tuple[str, ...]
    codes: str
    keeping: str = KEEPING


@router.get("/makes/{make_id}")
def make(visit: Guest, make_id: str) -> Response:
    return visit.page(_page(visit, found_make(visit, make_id), Form({"count": "1", "pieces": "1"})))


def _page(visit: Visit, own: Make, form: Form) -> MakePage:
    with visit.looking() as db:
        looked = look(db, visit.now_at, visit.household)
        family = wheels_of(db, own.id)
        given = tuple(
            Piece(piece.to_whom or "somebody", _piece(piece, looked), f"/wheels/{piece.wheel.id}")
            for piece in everyone_with(db, own.id)
        )
        again = make_again(db, own.id)
        places = {"": "nobody said where", **place_names(db)}
        said = sheet_words(db, own.sheet, looked)
    lines = tuple(Fact(w.code or "no code", _wheel(w, looked), f"/wheels/{w.id}") for w in family)
    step = own.sheet.next_step
    if own.sheet.next_at:
        due = "was due " if own.sheet.next_at < visit.now_at else ""
        step = f"{step or 'Next step'}: {due}{words.moment(own.sheet.next_at, visit.now_at, visit.household)}"
    return MakePage(
        f"Make {make_words(own, visit.household)}", own, said, lines, given, again.next_time if again else "", step,
        form, places, form.text("seed") or new_id(), visit.person.may("helper"),
    )  # fmt: skip


def _piece(piece: Any, looked: Looked) -> str:
    amount = f"{piece.pieces} pieces" if piece.pieces else ""
    weight = words.weight(piece.amount_g, looked.household) if piece.amount_g else ""
    how = "sold" if piece.how == "sold" else "given"
    on = words.long_date(piece.at, looked.household)
    return ", ".join(part for part in (f"{how} {on}", amount, weight, piece.wheel.code) if part)


def _wheel(wheel: Wheel, looked: Looked) -> str:
    if not wheel.alive:
        return state_word(wheel.state)
    left = f"{wheel.pieces_left} pieces" if wheel.sheet.pieces > 1 else ""
    weight = words.weight(wheel.net_g, looked.household) if wheel.net_g else "not weighed yet"
    return ", ".join(part for part in (left, weight, loss_words(wheel, looked.household)) if part)


@router.post("/makes/{make_id}/wheels")
def add_wheels(visit: Helper, make_id: str, texts: Texts) -> Response:
    """The wheels that came out of a vat, or a batch of pieces kept as one entry."""
    own = found_make(visit, make_id)
    asked = Asked(texts, visit.household, visit.now_at)
    try:
        sheet = sheet_of(asked, "wheels", make_id)
        count = whole_number(asked, "count")
        if count > MOST_WHEELS:
            raise EntryRefused("count", f"At most {MOST_WHEELS} wheels can be added at once, got {count}.")
        stored = store(visit, [e for n in range(1, count + 1) for e in _wheel_entries(asked, own, sheet, n, count)])
    except EntryRefused as refused:
        return visit.refused(_page(visit, own, Form(texts).wrong(refused.field, str(refused))))
    path = f"/makes/{make_id}"
    told = f"In the book: {many(count)}. {flagged(stored)}".strip()
    return visit.go(path, told, undo=f"/round/undo/{sheet.group_id}?back={path}")


def _wheel_entries(asked: Asked, make: Make, sheet: Sheet, number: int, count: int) -> list[NewEntry]:
    wheel_id = seeded_id(sheet.seed, "wheel", str(number))
    prefix = asked.text("code") or make.code
    code = f"{prefix}{chr(64 + number) if count <= 26 else f'/{number}'}" if count > 1 else prefix
    if not prefix:
        code = spoken(short_code(wheel_id))
    body: dict[str, Any] = {"kind": "wheel", "code": code, "make_id": make.id, "made_on": make.made_on}
    body |= {"style_id": make.style_id} if make.style_id else {}
    body |= {"pieces": whole_number(asked, "pieces")} if asked.text("pieces") not in {"", "1"} else {}
    body |= {"piece_g": grams(asked, "piece_g")} if asked.text("piece_g") else {}
    found = [sheet.entry({k: v for k, v in body.items() if v is not None}, wheel_id, wheel_id=wheel_id)]
    if asked.text("place"):
        found.append(sheet.entry({"kind": "moved"}, wheel_id, wheel_id=wheel_id, place_id=asked.text("place")))
    if asked.text("weight"):
        start = asked.text("start") if asked.text("start") in {"press", "salt", "cave"} else None
        weighing = {"kind": "weighing", "scale_g": grams(asked, "weight"), **({"start": start} if start else {})}
        found.append(sheet.entry(weighing, wheel_id, wheel_id=wheel_id))
    return found


@router.get("/makes/{make_id}/card")
def card(visit: Guest, make_id: str) -> Response:
    """A card to go with a piece: made on, milk, additions, keeping."""
    own = found_make(visit, make_id)
    with visit.looking() as db:
        looked = look(db, visit.now_at, visit.household)
        family = wheels_of(db, make_id)
        warned = cautions(db, family[0], own, looked) if family else []
    style = looked.styles.get(own.style_id or "")
    facts = [
        Fact("Made on", words.long_date(own.made_on, visit.household) if own.made_on else ""),
        Fact("Milk", ", ".join(milk_of(own.sheet))),
        Fact("The milk was", heat_words(own.sheet, visit)),
        Fact("In it", ", ".join(one.name for one in own.sheet.additions)),
    ]
    return visit.page(CardPage(
        f"Card of make {make_words(own, visit.household)}", visit.household.dairy_name,
        style.sheet.name if style else "",
        tuple(fact for fact in facts if fact.words), tuple(one.words for one in warned if one.name in FOR_WHO_EATS),
        ", ".join(wheel.code for wheel in family if wheel.code),
    ))  # fmt: skip


def heat_words(sheet: MakeSheet, visit: Visit) -> str:
    """What was done to the milk, in words."""
    if sheet.heat is None:
        return ""
    at = words.temperature(sheet.heat_c, visit.household) if sheet.heat_c is not None else ""
    long = f"{sheet.heat_min:g} min" if sheet.heat_min is not None else ""
    how = ", ".join(part for part in (at, long) if part)
    return f"{sheet.heat} ({how})" if how else sheet.heat
