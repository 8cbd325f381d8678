"""Who changed what and when, the newest first."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Annotated, ClassVar

from fastapi import APIRouter, Query
from starlette.responses import Response

from collector.records.columns import from_ms, to_ms
from dashboard.people.audit import KINDS, PAGE, Change, changes
from dashboard.visit import Owner

router = APIRouter()
PATH = "/settings/changes"
LATEST_MS = 253_402_300_799_000  # the end of the year 9999


@dataclass(frozen=True, slots=True)
class ChangesPage:
    """`older`: the address of the page before, "" at the end."""

    template: ClassVar[str] = "audit.html"
    title: str
    kind: str
    kinds: Mapping[str, str]
    changes: Sequence[Change]
    older: str


@router.get(PATH)
def audit(visit: Owner, kind: str = "", before: Annotated[int | None, Query(ge=0, le=LATEST_MS)] = None) -> Response:
    """`before`: known before that time [ms]; the newest ones without it."""
    kind = kind if kind in KINDS else ""
    # A phone's clock may run ahead of this machine's; what it sent is still shown.
    until = visit.now_at + timedelta(days=1) if before is None else from_ms(before)
    with visit.looking() as db:
        found = changes(db, visit.household, kind, until, visit.now_at)
    older = f"{PATH}?kind={kind}&before={to_ms(found[PAGE - 1].at)}" if len(found) > PAGE else ""
    kinds = {"": "All", **{name: word for name, (word, _of) in KINDS.items()}}
    return visit.page(ChangesPage("Who changed what", kind, kinds, found[:PAGE], older))
