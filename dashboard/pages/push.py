"""What static/push.js asks: our key, keeping a phone's subscription, comparing it, a test, the end."""

from typing import Annotated, Any

from fastapi import APIRouter, Body, HTTPException
from starlette.responses import JSONResponse, Response

from collector.errors import EntryRefused
from collector.notify.channels import remove_channel
from collector.notify.making import Maker
from collector.notify.trying import send_test
from dashboard.pages.telling import PATH
from dashboard.people.device import device_name
from dashboard.telling.phones import BY_HAND, belongs_to, state_of, way_of
from dashboard.visit import Helper, Visit

router = APIRouter()
PHONE = PATH + "/phone"
Asked = Annotated[dict[str, Any], Body()]


@router.post(PHONE + "/key")
def key(visit: Helper) -> Response:
    return JSONResponse({"key": _key(visit)})


def _key(visit: Visit) -> str:
    from collector.notify.push_keys import public_key  # only here: few households switch it on

    return public_key(visit.house.settings)


@router.post(PHONE)
def keep(visit: Helper, asked: Asked) -> Response:
    """Keep a phone's subscription; from now on warnings go there."""
    from collector.notify.subscriptions import checked_subscription, subscribe  # they load a heavy library

    try:
        subscription = checked_subscription(asked.get("subscription"))
    except EntryRefused as refused:
        return JSONResponse({"said": str(refused)}, 422)
    device = device_name(visit.request.headers.get("user-agent", ""))
    with visit.changing() as db:
        subscribe(
            db, subscription, visit.now_at, person_id=visit.person.id or None,
            device=f"{visit.person.name}'s phone ({device})", origin=str(visit.request.base_url).rstrip("/"),
            session=visit.session_id,
        )  # fmt: skip
    return JSONResponse({"state": "on"})


@router.post(PHONE + "/compare")
def compare(visit: Helper, asked: Asked) -> Response:
    """How the house sees the subscription that a phone holds; one made with another key of ours is none."""
    with visit.looking() as db:
        state = state_of(db, str(asked.get("endpoint", "")), visit.person.id or None)
    if state == "on" and asked.get("key") != _key(visit):
        return JSONResponse({"state": "unknown"})
    if state == "on" and visit.session_id:
        with visit.changing() as db:
            belongs_to(db, str(asked.get("endpoint", "")), visit.session_id)
    return JSONResponse({"state": state})


@router.post(PHONE + "/test")
def try_phone(visit: Helper, asked: Asked) -> Response:
    house = visit.house
    tried = send_test(house.engine, _own_way(visit, asked), Maker(house.settings), house.clock)
    return JSONResponse({"worked": tried.worked, "reason": tried.reason})


@router.post(PHONE + "/end")
def end(visit: Helper, asked: Asked) -> Response:
    way_id = _own_way(visit, asked)
    with visit.changing() as db:
        remove_channel(db, way_id, f"{BY_HAND}{visit.person.name}", visit.now_at)
    return JSONResponse({"state": "off"})


def _own_way(visit: Visit, asked: dict[str, Any]) -> str:
    with visit.looking() as db:
        found = way_of(db, str(asked.get("endpoint", "")), visit.person.id or None)
    if found is None:
        raise HTTPException(404)
    return found
