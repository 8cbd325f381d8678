"""What happened in a place, as marks beneath its air; each kind is one row here.

A new kind is a function that finds its marks and a row in `MARK_KINDS`.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from sqlalchemy import or_, select

from collector.notify.known import Known
from collector.notify.telling import word
from collector.records.columns import from_ms, to_ms
from collector.records.tables import warning
from dashboard.charts.mark import MOST, ChartMark, Search
from dashboard.charts.wheel_marks import care_marks, covering_marks, move_marks, rind_marks


@dataclass(frozen=True, slots=True)
class MarkKind:
    """A row of marks: the word beside it, plotly's symbol, a colour of the style sheet, and how its marks are found."""

    name: str
    word: str
    symbol: str
    colour: str
    find: Callable[[Search], list[ChartMark]]


@dataclass(frozen=True, slots=True)
class Lane:
    """The marks of one kind on one chart."""

    kind: MarkKind
    marks: tuple[ChartMark, ...]


def lanes(search: Search) -> list[Lane]:
    """The marks of every kind that has any, in the order of the table."""
    found = ((kind, kind.find(search)) for kind in MARK_KINDS.values())
    return [Lane(kind, tuple(marks)) for kind, marks in found if marks]


def air_warnings(search: Search) -> list[ChartMark]:
    """Warnings about the air of the place."""
    return _warnings(search, warning.c.place_id == search.place_id, with_subject=False)


def probe_warnings(search: Search) -> list[ChartMark]:
    """Warnings about the probes that stand in the place."""
    probes = [probe for probe, place_id in search.known.probe_places.items() if place_id == search.place_id]
    return _warnings(search, warning.c.probe.in_(probes), with_subject=True) if probes else []


def _warnings(search: Search, about: object, *, with_subject: bool) -> list[ChartMark]:
    c = warning.c
    rows = search.db.execute(
        select(c.id, c.rule, c.probe, c.opened_at, c.cleared_at, c.facts)
        .where(about, c.withdrawn_at.is_(None), c.opened_at < from_ms(search.to_ms))  # type: ignore[arg-type]
        .where(or_(c.cleared_at.is_(None), c.cleared_at >= from_ms(search.from_ms)))
        .order_by(c.opened_at.desc())
        .limit(MOST)
    ).all()
    return [
        ChartMark(
            max(to_ms(row.opened_at), search.from_ms),
            search.to_ms if row.cleared_at is None else min(to_ms(row.cleared_at), search.to_ms),
            _words(row.rule, row.probe if with_subject else None, search.known),
            f"/warnings/{row.id}",
        )
        for row in reversed(rows)
    ]


def _words(rule: str, probe: str | None, known: Known) -> str:
    return word(rule) if probe is None else f"{known.probe_names.get(probe) or probe}: {word(rule)}"


MARK_KINDS: Mapping[str, MarkKind] = {
    kind.name: kind
    for kind in (
        MarkKind("warnings", "warnings", "triangle-up", "--bad", air_warnings),
        MarkKind("probe_warnings", "probe", "x", "--watch", probe_warnings),
        MarkKind("rind", "rind", "diamond", "--bad", rind_marks),
        MarkKind("care", "care", "circle", "--good", care_marks),
        MarkKind("coverings", "cover", "square", "--accent", covering_marks),
        MarkKind("moves", "moves", "triangle-right", "--soft", move_marks),
    )
}
