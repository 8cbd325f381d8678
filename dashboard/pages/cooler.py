"""The cooler of one cave: how often it runs, how long, its swing, over a season."""

from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, ClassVar

from fastapi import APIRouter, HTTPException, Query
from starlette.responses import Response

from collector.air.read import AirReader
from collector.errors import SchemaMissing
from collector.records.columns import from_ms, to_ms
from collector.records.places import load_facts
from collector.watch import doubtful_spans
from dashboard import links_to
from dashboard.channels_placed import channels_ever_in
from dashboard.charts.figure_text import figure_json
from dashboard.cooler_view import DAY_MS, SEASON_DAYS, cooler_figure, cooler_view, lately, rows_of, table
from dashboard.visit import Guest

router = APIRouter()
FIRST_DAY, LAST_DAY = 10_957, 47_482  # 2000 and 2100


@dataclass(frozen=True, slots=True)
class CoolerPage:
    """The page; `is_empty` when no cycle can be seen.

    Args:
        lately: word, median of the last week, median of the season.
        earlier, later: where the buttons lead, "" for nowhere.
    """

    template: ClassVar[str] = "cooler.html"
    title: str
    cave_path: str
    cave_name: str
    is_empty: bool
    lately: tuple[tuple[str, str, str], ...]
    figure: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    from_at: datetime
    to_at: datetime
    earlier: str
    later: str


@router.get("/caves/{place_id}/cooler")
def cooler(
    visit: Guest, place_id: str, day: Annotated[int | None, Query(ge=FIRST_DAY, le=LAST_DAY)] = None
) -> Response:
    """A season that ends with a day, numbered since 1970 (UTC); the last whole one by default."""
    if visit.readings is None:
        raise SchemaMissing(visit.house.settings.readings_path)
    newest = to_ms(visit.now_at) // DAY_MS - 1
    last = newest if day is None else min(day, newest)
    span = (last + 1 - SEASON_DAYS) * DAY_MS, (last + 1) * DAY_MS
    with visit.looking() as db:
        facts = load_facts(db)
        place = facts.places.get(place_id)
        if place is None:
            raise HTTPException(404)
        channels = visit.readings.channels()
        doubts = doubtful_spans(db, channels, *span)
    own = channels_ever_in(channels, facts, place, span[1])
    seen = cooler_view(AirReader(visit.readings.db, facts, doubts, own), place_id, own, last)
    rows = rows_of(seen, visit.household)
    base = links_to.cave(place_id)
    return visit.page(
        CoolerPage(
            title=f"The cooler: {place.name}",
            cave_path=base,
            cave_name=place.name,
            is_empty=seen.is_empty,
            lately=tuple(lately(rows)),
            figure=figure_json(cooler_figure(seen, rows, visit.household)),
            columns=("Day", *(f"{row.word} ({row.unit})" for row in rows)),
            rows=tuple(table(seen, rows, visit.household)),
            from_at=from_ms(span[0]),
            to_at=from_ms(span[1] - 1),
            earlier=f"{base}/cooler?day={last - SEASON_DAYS}" if last - SEASON_DAYS >= FIRST_DAY else "",
            later=f"{base}/cooler?day={min(last + SEASON_DAYS, newest)}" if last < newest else "",
        )
    )
