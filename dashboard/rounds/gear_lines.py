"""The gear of the round, brine tubs, wash jars, brushes: what was last measured or done with each."""

from collections.abc import Iterable
from datetime import datetime

from sqlalchemy import Connection, select

from dashboard import words
from dashboard.household import Household
from dashboard.rounds.chores import days_ago
from dashboard.rounds.model import GearLine
from dashboard.wheels import tables
from dashboard.wheels.bodies.doings import GearCheck
from dashboard.wheels.book import Gear, gear
from dashboard.wheels.entry_rows import standing_where
from dashboard.wheels.kinds.gear import GEAR_KINDS
from dashboard.wheels.model import Entry

ON_THE_ROUND = ("brine", "wash", "brush", "cloth", "iron")
FLAG_WORDS = {"boiled": "boiled", "scalded": "scalded", "renewed": "made fresh"}
NUMBER_WORDS = {
    "strength_pct": "strength %", "ph": "pH", "temperature_c": "temperature", "salt_added_g": "salt added",
    "checked_with_g": "known weight", "showed_g": "it showed",
}  # fmt: skip


def gear_lines(db: Connection, now_at: datetime, household: Household) -> tuple[GearLine, ...]:
    """Gear in use that is looked after on the round, by kind and name."""
    g = tables.gear.c
    found = gear(db, g.retired.is_(False), g.gear.in_(ON_THE_ROUND))
    return tuple(gear_line(one, last_check(db, one.id), now_at, household) for one in found)


def gear_line(one: Gear, check: Entry | None, now_at: datetime, household: Household) -> GearLine:
    """One piece of gear in words."""
    kind = GEAR_KINDS.get(one.gear)
    asks = kind.asks if kind else ("renewed",)
    flags = tuple(name for name in asks if name in FLAG_WORDS)
    numbers = tuple(name for name in asks if name in NUMBER_WORDS)
    word = kind.word if kind else one.gear.replace("_", " ")
    return GearLine(one, word, _last(check, now_at, household), flags, numbers)


def last_check(db: Connection, gear_id: str) -> Entry | None:
    """What was last measured or done with a piece of gear."""
    c = tables.entry.c
    recent = select(c.id).where(c.gear_id == gear_id, c.kind == "gear_check").order_by(c.happened_at.desc()).limit(20)
    standing = standing_where(db, c.id.in_(list(db.execute(recent).scalars())))
    return standing[-1] if standing else None


def _last(check: Entry | None, now_at: datetime, household: Household) -> str:
    if check is None:
        return "nothing written down yet"
    days = (words.local(now_at, household).date() - words.local(check.happened_at, household).date()).days
    said = ", ".join(check_words(check, household)) or check.body.text
    return f"{said}, {days_ago(days)}" if said else days_ago(days)


def check_words(check: Entry, household: Household) -> Iterable[str]:
    """What a check says, number by number."""
    body = check.body
    if not isinstance(body, GearCheck):
        return
    if body.strength_pct is not None:
        yield f"{body.strength_pct:g} %"
    if body.baume is not None:
        yield f"{body.baume:g} °Bé"
    if body.ph is not None:
        yield f"pH {body.ph:g}"
    if body.temperature_c is not None:
        yield words.temperature(body.temperature_c, household)
    if body.salt_added_g is not None:
        yield f"{words.weight(body.salt_added_g, household)} salt added"
    if body.checked_with_g is not None and body.showed_g is not None:
        yield f"showed {words.weight(body.showed_g, household)} for {words.weight(body.checked_with_g, household)}"
    yield from (word for name, word in FLAG_WORDS.items() if getattr(body, name))
