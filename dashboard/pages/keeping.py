"""How long readings are kept one by one: what would go is shown first, and nothing goes unless asked."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar

from fastapi import APIRouter
from starlette.responses import Response

from collector.errors import EntryRefused
from collector.keep_raw import CHOICES, choose, chosen_d
from collector.readings.raw_from import raw_from_ms
from collector.readings.retention import Going, cut_ms, going
from collector.records.columns import from_ms, to_ms
from collector.records.life import signs
from dashboard.forms import Form
from dashboard.second_store_shown import SecondStoreShown, second_store_shown
from dashboard.visit import Owner, Texts, Visit

router = APIRouter()
PATH = "/settings/keeping"
FIELD = "days"


@dataclass(frozen=True, slots=True)
class WouldGo:
    """What would go, to be confirmed."""

    days: int
    word: str
    readings: int
    of: int
    from_at: datetime
    to_at: datetime
    mb: float


@dataclass(frozen=True, slots=True)
class KeepingPage:
    template: ClassVar[str] = "keeping.html"
    title: str
    form: Form
    choices: Mapping[str, str]
    now_word: str
    raw_from_at: datetime | None
    file_mb: float
    would_go: WouldGo | None
    second_store: SecondStoreShown | None


def _page(visit: Visit, form: Form, would_go: WouldGo | None = None) -> KeepingPage:
    with visit.looking() as db:
        now_d, second_store = chosen_d(db), second_store_shown(signs(db))
    gone_ms = raw_from_ms(visit.readings.db) if visit.readings else None
    path = visit.house.settings.readings_path
    mb = path.stat().st_size / 1e6 if path.exists() else 0.0
    words = {str(days): word for days, word in CHOICES.items()}
    now_word = CHOICES.get(now_d, f"for {now_d} days")
    gone_at = None if gone_ms is None else from_ms(gone_ms)
    title = "How long readings are kept"
    return KeepingPage(title, form, words, now_word, gone_at, mb, would_go, second_store)


@router.get(PATH)
def keeping(visit: Owner) -> Response:
    with visit.looking() as db:
        now_d = chosen_d(db)
    return visit.page(_page(visit, Form({FIELD: str(now_d)})))


@router.post(PATH)
def change(visit: Owner, texts: Texts) -> Response:
    """The first touch shows what would go; the second, with `sure`, does it."""
    try:
        days = _days(texts.get(FIELD, ""))
    except EntryRefused as refused:
        return visit.refused(_page(visit, Form(texts).wrong(refused.field, str(refused))))
    if days and not texts.get("sure") and visit.readings is not None:
        found = going(visit.readings.db, cut_ms(to_ms(visit.now_at), days))
        if found.readings:
            return visit.page(_page(visit, Form(texts), _would_go(days, found)))
    with visit.changing() as db:
        choose(db, days)
    return visit.go(PATH, f"Readings are kept one by one {CHOICES[days]}.")


def _days(text: str) -> int:
    if text not in {str(days) for days in CHOICES}:
        raise EntryRefused(FIELD, "Take one of the choices.")
    return int(text)


def _would_go(days: int, found: Going) -> WouldGo:
    first, last = from_ms(found.from_ms), from_ms(found.to_ms)
    return WouldGo(days, CHOICES[days], found.readings, found.of, first, last, found.mb)
