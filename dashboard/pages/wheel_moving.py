"""Moving wheels to another place: a whole shelf in three touches (move, where, go), and taken back with one."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar
from urllib.parse import urlencode

from fastapi import APIRouter
from sqlalchemy import Connection
from starlette.responses import Response

from collector.errors import EntryRefused
from collector.records.columns import new_id, to_ms
from dashboard import words
from dashboard.air_now import air_now
from dashboard.places.adding import open_places
from dashboard.places_now import look as look_at_places
from dashboard.residents import groups_of
from dashboard.rounds.entering import sheet_of
from dashboard.rounds.posted import Form, asked, flagged, many, store
from dashboard.rounds.seeded import seeded_id
from dashboard.visit import Helper, Visit
from dashboard.wheels import tables
from dashboard.wheels.book import Wheel, living, styles, wheels
from dashboard.wheels.company import BadCompany
from dashboard.wheels.moves import AirNow, before_moving, move_entries, sweating_words
from dashboard.whom import suffers_from, who_suffers

router = APIRouter()
PATH = "/wheels/move"


@dataclass(frozen=True, slots=True)
class Target:
    """A place that wheels can go to; `path` asks what it would mean."""

    name: str
    depth: int
    path: str


@dataclass(frozen=True, slots=True)
class MovePage:
    """With `to_id` the second step: what it means, and the button.

    Args:
        said: sweating and the air, in words.
        suits: whom the air there suits and whom not, "" where that is not known. is_hard: somebody suffers.
    """

    template: ClassVar[str] = "wheels_move.html"
    title: str
    moving: tuple[Wheel, ...]
    targets: tuple[Target, ...]
    back: str
    seed: str
    to_id: str = ""
    to_name: str = ""
    button: str = ""
    said: str = ""
    suits: str = ""
    is_hard: bool = False
    advice: tuple[str, ...] = ()
    company: tuple[BadCompany, ...] = ()
    error: str = ""


@router.get(PATH)
def move(visit: Helper, to: str = "", wheel: str = "") -> Response:
    return visit.page(_page(visit, visit.request.query_params.get("from"), wheel, to))


@router.post(PATH)
def moved(visit: Helper, posted: Form) -> Response:
    to_id, back = posted.texts.get("to", ""), posted.texts.get("back", "")
    path = f"/wheels/{posted.wheels[0]}" if back == "wheel" and posted.wheels else "/wheels"
    said = asked(visit, posted)
    with visit.looking() as db:
        moving = _chosen(db, posted.wheels)
        names = {place.id: place.name for place, _depth in open_places(db)}
    try:
        if to_id not in names or not moving:
            raise EntryRefused("wheel", "Mark at least one wheel, and take one of the places.")
        sheet = sheet_of(said, "move", to_id)
    except EntryRefused as refused:
        return visit.refused(_page(visit, None, ",".join(posted.wheels), to_id, str(refused)))
    ids = iter([sheet.group_id, *(seeded_id(sheet.seed, "moved", one.id) for one in moving)])
    news = move_entries(
        moving, to_id, done_at=sheet.done_at, make_id=lambda: next(ids), zone=sheet.zone, typed_time=sheet.typed,
        spot=said.text("spot"),
    )  # fmt: skip
    stored = store(visit, news)
    told = f"{many(len(moving))} moved to {names[to_id]}. {flagged(stored)}".strip()
    return visit.go(path, told, undo=f"/round/undo/{sheet.group_id}?back={path}")


def _chosen(db: Connection, ids: Sequence[str]) -> list[Wheel]:
    return wheels(db, tables.wheel.c.id.in_(list(ids))) if ids else []


def _page(visit: Visit, from_id: str | None, wheel_ids: str, to_id: str, error: str = "") -> MovePage:
    with visit.looking() as db:
        alive = living(db)
        ids = [one for one in wheel_ids.split(",") if one]
        moving = _chosen(db, ids) if ids else [w for w in alive if (w.place_id or "") == (from_id or "")]
        moving.sort(key=lambda w: (w.position is None, w.position or 0, w.code))
        came_from = {"wheel": ",".join(ids)} if ids else {"from": from_id or ""}
        places = open_places(db)
        targets = [
            Target(place.name, depth, f"{PATH}?{urlencode({**came_from, 'to': place.id})}")
            for place, depth in places
            if place.kind != "outside" and {place.id} != {w.place_id for w in moving}
        ]
        names = {place.id: place.name for place, _depth in places}
        title = f"Move {moving[0].code}" if len(moving) == 1 else f"Move {many(len(moving))}"
        back = "wheel" if len(ids) == 1 else ""
        if to_id not in names or not moving:
            return MovePage(title, tuple(moving), tuple(targets), back, new_id(), error=error)
        rinds = {style.id: style.sheet.rind for style in styles(db)}
        airs = _airs(visit, db, [moving[0].place_id, to_id])
        there = [w for w in alive if w.place_id == to_id]
        word = before_moving(moving, there, rinds, airs[moving[0].place_id], airs[to_id])
        groups = groups_of(db, moving)
    air = airs[to_id]
    is_hard = any(suffers_from(group, air.temperature_c, air.humidity_pct) for group in groups)
    said = sweating_words(word.sweating) if word.sweating else _air_words(visit, air)
    return MovePage(
        title, tuple(moving), (), back, new_id(), to_id, names[to_id], f"Move to {names[to_id]}", said,
        who_suffers(groups, air.temperature_c, air.humidity_pct), is_hard, word.advice, word.company, error,
    )  # fmt: skip


def _air_words(visit: Visit, air: AirNow) -> str:
    """The air there, where nothing will sweat; or that nobody knows."""
    if air.temperature_c is None:
        return "No air is measured there, so nobody can say whether they will sweat."
    warm, damp = (
        words.temperature(air.temperature_c, visit.household),
        words.humidity(air.humidity_pct, visit.household),
    )
    return f"It is {warm} and {damp} there; they will not sweat."


def _airs(visit: Visit, db: Connection, place_ids: list[str | None]) -> Mapping[str | None, AirNow]:
    """The air of some places now; blank where it is not known."""
    found: dict[str | None, AirNow] = {place_id: AirNow() for place_id in place_ids}
    if visit.readings is None:
        return found
    reader = look_at_places(db, visit.readings, visit.now_at, visit.household).reader
    for place_id in place_ids:
        if place_id in reader.facts.places and place_id is not None:
            now = air_now(reader, place_id, to_ms(visit.now_at))
            found[place_id] = AirNow(now.temperature_c.value, now.humidity_pct.value)
    return found
