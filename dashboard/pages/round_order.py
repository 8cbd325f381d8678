"""The order of the round: shelves one up or down, a wheel before another one."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar
from urllib.parse import quote

from fastapi import APIRouter, HTTPException
from starlette.responses import Response

from collector.errors import EntryRefused
from collector.records.columns import new_id
from dashboard.places.adding import shift
from dashboard.rounds.entering import Sheet, sheet_of
from dashboard.rounds.gathered import gathered
from dashboard.rounds.model import Shelf
from dashboard.rounds.posted import Form, Posted, asked, store
from dashboard.rounds.shelf_order import put_before
from dashboard.rounds.shelves import NOWHERE
from dashboard.visit import Helper, Texts, Visit
from dashboard.wheels.book import Wheel
from dashboard.wheels.entries import NewEntry

router = APIRouter()
PATH = "/round/order"


@dataclass(frozen=True, slots=True)
class OrderPage:
    template: ClassVar[str] = "round_order.html"
    title: str
    shelves: Sequence[Shelf]


@dataclass(frozen=True, slots=True)
class ShelfOrderPage:
    template: ClassVar[str] = "round_order_shelf.html"
    title: str
    shelf: Shelf
    seed: str


def _shelves(visit: Visit) -> Sequence[Shelf]:
    with visit.looking() as db:
        return gathered(db, visit.now_at, visit.household).round.shelves


@router.get(PATH)
def order(visit: Helper) -> Response:
    return visit.page(OrderPage("Order of the shelves", [s for s in _shelves(visit) if s.place_id != NOWHERE]))


@router.post("/round/order/{place_id}/shift")
def move_shelf(visit: Helper, place_id: str, texts: Texts) -> Response:
    """One up or down among the places with the same place around them."""
    with visit.changing() as db:
        shift(db, place_id, -1 if texts.get("way") == "up" else 1)
    return visit.go(f"{PATH}#s-{quote(place_id, safe='')}")


@router.get("/round/order/{place_id}")
def shelf_order(visit: Helper, place_id: str) -> Response:
    shelf = _shelf(visit, place_id)
    return visit.page(ShelfOrderPage(f"Order on {shelf.name}", shelf, new_id()))


def _shelf(visit: Visit, place_id: str) -> Shelf:
    for shelf in _shelves(visit):
        if shelf.place_id == place_id:
            return shelf
    raise HTTPException(404)


@router.post("/round/order/{place_id}")
def put(visit: Helper, place_id: str, posted: Form) -> Response:
    """The marked wheel before the one whose button was touched."""
    path = f"{PATH}/{quote(place_id, safe='')}"
    try:
        news, sheet = _moves(visit, place_id, posted)
    except EntryRefused as refused:
        return visit.go(path, str(refused))
    if not news:
        return visit.go(path)
    store(visit, news)
    return visit.go(path, "Put there.", undo=f"/round/undo/{sheet.group_id}?back={path}")


def _moves(visit: Visit, place_id: str, posted: Posted) -> tuple[list[NewEntry], Sheet]:
    wheels = {row.wheel.id: row.wheel for row in _shelf(visit, place_id).rows}
    taken, before = posted.texts.get("wheel", ""), posted.texts.get("before", "") or None
    sheet = sheet_of(asked(visit, posted), place_id, taken, before or "end")
    try:
        positions = put_before([(w.id, w.position) for w in wheels.values()], taken, before)
    except ValueError as wrong:
        raise EntryRefused("wheel", "Mark the wheel that you want to put elsewhere.") from wrong
    return [_moved(wheels[wheel_id], position, sheet) for wheel_id, position in positions.items()], sheet


def _moved(wheel: Wheel, position: int, sheet: Sheet) -> NewEntry:
    body = {"kind": "moved", "spot": wheel.spot, "position": position}
    return sheet.entry(body, wheel.id, wheel_id=wheel.id, place_id=wheel.place_id)
