"""Warnings, open and over."""

from typing import Annotated

from fastapi import APIRouter, HTTPException, Query
from pydantic import AwareDatetime

from collector.notify import facts
from collector.notify.telling import word
from collector.records import warnings as records
from collector.records.warnings import CaveWarning
from dashboard.api.access import ApiReader
from dashboard.api.shapes import ERRORS, WarningOut

router = APIRouter(tags=["warnings"], responses=ERRORS)
COMPUTED = {"word", "since_at"}
OWN_NOTES = {"ledger"}  # what a rule keeps for itself among the facts


@router.get("/warnings")
def warnings(
    visit: ApiReader,
    open: Annotated[bool, Query(description="only those that last")] = False,
    place_id: Annotated[str | None, Query(max_length=36)] = None,
    since: Annotated[AwareDatetime | None, Query(description="only those open then or later")] = None,
    limit: Annotated[int, Query(ge=1, le=1_000)] = 200,
) -> list[WarningOut]:
    """Warnings that were not withdrawn, the newest first."""
    with visit.looking() as db:
        found = records.warnings(db, only_open=open, place_id=place_id, since=since, limit=limit)
    return [_warning(one) for one in found]


@router.get("/warnings/{warning_id}")
def warning(visit: ApiReader, warning_id: str) -> WarningOut:
    """One warning."""
    with visit.looking() as db:
        found = records.one(db, warning_id)
    if found is None:
        raise HTTPException(404)
    return _warning(found)


def _warning(found: CaveWarning) -> WarningOut:
    names = set(WarningOut.model_fields) - COMPUTED
    values = {name: getattr(found, name) for name in names}
    values["facts"] = {name: value for name, value in found.facts.items() if name not in OWN_NOTES}
    return WarningOut(**values, word=word(found.rule), since_at=facts.since(found))
