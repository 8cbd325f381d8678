"""One thing that happened on a chart, and where such things are looked for."""

from dataclasses import dataclass

from sqlalchemy import Connection

from collector.notify.known import Known

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


@dataclass(frozen=True, slots=True)
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
