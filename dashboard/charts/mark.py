"""One thing that happened on a chart, and where such things are looked for."""

from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from sqlalchemy import BigInteger, Connection, select, type_coerce

from collector.notify.known import Known
from dashboard.wheels import tables

NO_CODE = "a wheel"
MOST = 400  # of one kind on one chart: more cannot be told apart; the newest are kept


@dataclass(frozen=True, slots=True)
class ChartMark:
    """One thing that happened.

    Args:
        at_ms: when, or when it began. to_ms: when it ended, None for a moment; what lasts ends with the chart.
        words: what it was, in a few words. path: the page that tells more, "" without one.
    """

    at_ms: int
    to_ms: int | None
    words: str
    path: str = ""


class Stood(NamedTuple):
    """One wheel that stood in the place: its code, and from when to when [ms]; what lasts ends with the chart."""

    code: str
    spans: list[tuple[int, int]]


@dataclass(frozen=True)
class Search:
    """Where and when marks are looked for.

    Args:
        known: names; `probe_places` tells which probes stand in the place now.
        from_ms, to_ms: the chart's time.
    """

    db: Connection
    known: Known
    place_id: str
    from_ms: int
    to_ms: int

    @cached_property
    def stood(self) -> dict[str, Stood]:
        """The wheels that stood in the place within the chart's time; read once, for all kinds of marks that ask."""
        stay, wheel = tables.stay.c, tables.wheel.c
        begun, ended = type_coerce(stay.from_at, BigInteger), type_coerce(stay.to_at, BigInteger)
        rows = self.db.execute(
            select(stay.wheel_id, wheel.code, begun, ended)
            .join(tables.wheel, wheel.id == stay.wheel_id)
            .where(stay.place_id == self.place_id, begun < self.to_ms, ended.is_(None) | (ended > self.from_ms))
        )
        found: dict[str, Stood] = {}
        for wheel_id, code, from_ms, to_ms in rows:
            one = found.setdefault(wheel_id, Stood(code or NO_CODE, []))
            one.spans.append((from_ms, self.to_ms if to_ms is None else to_ms))
        return found
