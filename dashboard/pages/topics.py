"""Topics of other devices: which are listened to beside our own."""

from dataclasses import dataclass
from typing import ClassVar
from urllib.parse import urlencode

from fastapi import APIRouter, HTTPException
from starlette.responses import Response

from collector.errors import EntryRefused
from collector.records.columns import to_ms
from dashboard.forms import Form
from dashboard.probes import topic_filters
from dashboard.probes.topic_filters import FIELD, Filter, checked, is_wide
from dashboard.visit import Owner, Texts, Visit

router = APIRouter()
PATH = "/probes/topics"


@dataclass(frozen=True, slots=True)
class TopicsPage:
    template: ClassVar[str] = "topics.html"
    title: str
    form: Form
    filters: tuple[Filter, ...]
    asks_whether: str


def _page(visit: Visit, form: Form, asks_whether: str = "") -> TopicsPage:
    with visit.looking() as db:
        found = topic_filters.filters(db)
    return TopicsPage("Other devices' topics", form, tuple(found), asks_whether)


@router.get(PATH)
def topics(visit: Owner) -> Response:
    return visit.page(_page(visit, Form()))


@router.post(PATH)
def add(visit: Owner, texts: Texts) -> Response:
    """Listen to one more topic; one that hears everything is asked about first."""
    try:
        text = checked(texts.get(FIELD, ""))
    except EntryRefused as refused:
        return visit.refused(_page(visit, Form(texts).wrong(refused.field, str(refused))))
    if is_wide(text) and not texts.get("sure"):
        said = f"{text} hears every device at the broker: lamps, meters, all that it carries."
        return visit.refused(_page(visit, Form(texts).wrong(FIELD, said), text))
    with visit.changing() as db:
        topic_filters.add(db, text, visit.now_at)
    query = urlencode({"topic": text, "since": to_ms(visit.now_at)})
    return visit.go(f"/probes/connect?{query}", f"Listening to {text}.")


@router.post(f"{PATH}/remove")
def remove(visit: Owner, texts: Texts) -> Response:
    with visit.changing() as db:
        if not topic_filters.remove(db, texts.get(FIELD, "")):
            raise HTTPException(404)
    return visit.go(PATH, "No longer listened to. What was heard stays.")
