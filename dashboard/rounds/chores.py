"""What a cave itself needs: when each chore was last done, and which are due again."""

from collections.abc import Mapping
from datetime import date, datetime, timedelta

from sqlalchemy import Connection, func, select

from collector.records.columns import Utc
from dashboard import words
from dashboard.household import Household
from dashboard.rounds.model import ChoreLine
from dashboard.rounds.row_words import OwnWords
from dashboard.wheels import tables
from dashboard.wheels.entry_rows import out_where
from dashboard.wheels.kinds.chores import CHORE_KINDS

LOOK_BACK = timedelta(days=400)  # longer than the rarest chore's rhythm, twice
Done = Mapping[tuple[str, str], datetime]


def recent_chores(db: Connection, now_at: datetime) -> Done:
    """When each chore was last done within a year, by (place, chore)."""
    c = tables.entry.c
    conditions = (c.kind == "chore", c.happened_at > now_at - LOOK_BACK)
    out = out_where(db, *conditions)
    chore = c.body["chore"].as_string()
    query = (
        select(c.place_id, chore, func.max(c.happened_at, type_=Utc))
        .where(*conditions, c.id.not_in(out))
        .group_by(c.place_id, chore)
    )
    return {(place_id, name): at for place_id, name, at in db.execute(query)}


def chores_of(place_id: str, done: Done, own: OwnWords, today: date, household: Household) -> tuple[ChoreLine, ...]:
    """Every chore of a place, what is due first.

    A chore that was never done here is not due: a fridge without a humidifier needs no water.
    """
    own_names = [name for of, name in own if of == "chore"]
    lines = [_line(name, done.get((place_id, name)), own, today, household) for name in (*CHORE_KINDS, *own_names)]
    return tuple(sorted(lines, key=lambda line: not line.due))


def _line(name: str, at: datetime | None, own: OwnWords, today: date, household: Household) -> ChoreLine:
    kind = CHORE_KINDS.get(name)
    word = own.get(("chore", name)) or (kind.word if kind else name.replace("_", " "))
    if at is None:
        return ChoreLine(name, word, "", False, kind is not None and kind.litres)
    days = (today - words.local(at, household).date()).days
    due = kind is not None and kind.every_d > 0 and days >= kind.every_d
    return ChoreLine(name, word, days_ago(days), due, kind is not None and kind.litres)


def days_ago(days: int) -> str:
    """How many days ago, as one says it."""
    return {0: "today", 1: "yesterday"}.get(days, f"{days} days ago")
