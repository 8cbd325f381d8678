"""Forecasts that are kept and compared with what came."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial
from typing import Any

from sqlalchemy import Connection, func, insert, select, update

from collector.records.columns import from_ms, new_id, to_ms
from dashboard.wheels.book import WheelBook
from dashboard.wheels.history import History
from dashboard.wheels.tables import forecast
from dashboard.wheels.weight.pace import Pace, Verdict, against_kind, age_apart
from dashboard.wheels.weight.score import Score, scored, what_came_g

WEIGHT, TRIED, GRAMS = "weight", "weight_tried", "g"
EVERY_D = 7  # a wheel's forecast is kept once in so many days
STALE_D = 21
MOST_REMEMBERED = 1_500  # forecasts that tell how a kind loses; two years of fifteen wheels
SHOWN = 30


@dataclass(frozen=True, slots=True)
class Forecast:
    """One forecast to keep: what the wheel will weigh on a day [g], nothing taken out reckoned as lost.

    Args:
        facts: what the score, the cave and the round need of it later; plain values.
    """

    wheel_id: str
    due_ms: int
    low_g: float
    middle_g: float
    high_g: float
    facts: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Past:
    """A forecast that came due: its day, interval and what came [g], None where nobody weighed."""

    wheel_id: str
    due_at: datetime
    low_g: float
    middle_g: float
    high_g: float
    came_g: float | None


def is_due(db: Connection, wheel_id: str, now_at: datetime) -> bool:
    """Whether the last forecast of a wheel is a week old, or there is none."""
    c = forecast.c
    newest = db.execute(select(func.max(c.made_at)).where(c.wheel_id == wheel_id, c.kind == WEIGHT)).scalar()
    return newest is None or now_at - newest >= timedelta(days=EVERY_D) - timedelta(hours=2)


def keep(db: Connection, found: Forecast, now_at: datetime) -> bool:
    """Keep a forecast unless this week's is kept already; True when it was kept."""
    if not is_due(db, found.wheel_id, now_at):
        return False
    db.execute(insert(forecast), [_row(found, WEIGHT, now_at)])
    return True


def keep_tried(db: Connection, found: Forecast, made_at: datetime, came_g: float, now_at: datetime) -> bool:
    """Keep what would have been foretold on a day that is past, beside what came [g]; False when it is kept already."""
    c = forecast.c
    same = select(c.id).where(c.wheel_id == found.wheel_id, c.kind == TRIED, c.made_at == made_at)
    if db.execute(same).first() is not None:
        return False
    db.execute(insert(forecast), [_row(found, TRIED, made_at) | {"came": came_g, "came_at": now_at}])
    return True


def _row(found: Forecast, kind: str, made_at: datetime) -> dict[str, Any]:
    return {
        "id": new_id(), "wheel_id": found.wheel_id, "kind": kind, "made_at": made_at, "due_at": from_ms(found.due_ms),
        "low": found.low_g, "middle": found.middle_g, "high": found.high_g, "unit": GRAMS, "facts": dict(found.facts),
    }  # fmt: skip


def compare(db: Connection, book: WheelBook, now_at: datetime) -> int:
    """Write beside each forecast of a wheel that came due what came, where a weighing tells; how many were new."""
    c = forecast.c
    waiting = select(forecast).where(
        c.wheel_id == book.wheel.id, c.kind == WEIGHT, c.due_at <= now_at, c.came.is_(None)
    )  # fmt: skip
    start, count = book.history.start, 0
    if start is None:
        return 0
    weighed = weighed_dry(book.history)
    for row in db.execute(waiting).mappings().all():
        same_start = abs(float(row["facts"].get("start_g", 0.0)) - start.net_g) < 0.01
        came = what_came_g(weighed, to_ms(row["due_at"])) if same_start else None
        if came is not None:
            db.execute(update(forecast).where(c.id == row["id"]).values(came=came, came_at=now_at))
            count += 1
    return count


def weighed_dry(history: History) -> list[tuple[int, float]]:
    """When a wheel was weighed dry [ms], and what it weighed [g], nothing taken out reckoned as lost."""
    if history.start is None:
        return []
    start_g = history.start.net_g
    return [(to_ms(point.at), start_g * (1 - point.loss_pct / 100)) for point in history.losses if not point.wet]


def past(db: Connection, now_at: datetime, wheel_ids: Sequence[str] = (), kind: str = WEIGHT) -> list[Past]:
    """Forecasts that came due, the latest first: of some wheels, or of all; `TRIED` for those of past days."""
    c = forecast.c
    # Without the facts, which would be read for years of weeks: only the score is wanted here.
    statement = select(c.wheel_id, c.due_at, c.low, c.middle, c.high, c.came).where(c.kind == kind, c.due_at <= now_at)
    if wheel_ids:
        statement = statement.where(c.wheel_id.in_(list(wheel_ids)))
    return [Past(*row) for row in db.execute(statement.order_by(c.due_at.desc()))]


def score_of(found: Sequence[Past]) -> Score:
    """How many came due, and how many lay inside."""
    return scored([(one.low_g, one.high_g, one.came_g) for one in found])


def newest_facts(db: Connection, now_at: datetime) -> dict[str, Mapping[str, Any]]:
    """By wheel, the facts of its newest forecast that is not stale."""
    c = forecast.c
    statement = select(c.wheel_id, c.facts, c.made_at).where(
        c.kind == WEIGHT, c.made_at > now_at - timedelta(days=STALE_D), c.made_at <= now_at
    )  # fmt: skip
    return {row.wheel_id: row.facts for row in db.execute(statement.order_by(c.made_at))}


def paces(db: Connection, now_at: datetime) -> dict[str, Verdict]:
    """By wheel, whether it loses faster or slower than its kind did at its age; wheels that are alike are left out."""
    by_style: dict[str, dict[str, list[Pace]]] = {}
    for wheel_id, style_id, pace in _past_paces(db, now_at):
        by_style.setdefault(style_id, {}).setdefault(wheel_id, []).append(pace)
    found = {}
    for wheel_id, facts in newest_facts(db, now_at).items():
        kind = by_style.get(facts.get("style_id") or "", {})
        if facts.get("pace") and wheel_id in kind:
            own = Pace(**facts["pace"])
            nearest = partial(age_apart, own)
            others = [min(told, key=nearest) for other_id, told in kind.items() if other_id != wheel_id]
            found[wheel_id] = against_kind(own, others)
    return {wheel_id: verdict for wheel_id, verdict in found.items() if verdict.word}


def _past_paces(db: Connection, now_at: datetime) -> Iterator[tuple[str, str, Pace]]:
    """Wheel, style and pace of each forecast that was kept or tried, the newest first."""
    c = forecast.c
    statement = select(c.wheel_id, c.facts).where(c.kind.in_((WEIGHT, TRIED)), c.made_at <= now_at)
    for row in db.execute(statement.order_by(c.made_at.desc()).limit(MOST_REMEMBERED)):
        if row.facts.get("pace") and row.facts.get("style_id"):
            yield row.wheel_id, row.facts["style_id"], Pace(**row.facts["pace"])
