"""The household's choices in the records, one row a setting."""

from dataclasses import asdict

from sqlalchemy import Connection, delete, insert, select
from tzlocal import get_localzone_name

from collector.records.tables import setting
from dashboard.household import Household, is_possible, suggested

KEY = "household."


def of_this_machine() -> Household:
    """The choices that the machine's own time zone suggests."""
    return suggested(get_localzone_name() or "UTC")


def load(db: Connection) -> Household:
    """The household's choices; what was never chosen, or is unknown here, is as the machine's zone suggests."""
    rows = db.execute(select(setting.c.key, setting.c.value).where(setting.c.key.startswith(KEY)))
    found = {key.removeprefix(KEY): value for key, value in rows}
    chosen = {name: value for name, value in found.items() if is_possible(name, value)}
    return Household(**{**asdict(of_this_machine()), **chosen})


def save(db: Connection, household: Household) -> None:
    """Keep every choice, inside the caller's transaction."""
    rows = [{"key": KEY + name, "value": value} for name, value in asdict(household).items()]
    db.execute(delete(setting).where(setting.c.key.in_([row["key"] for row in rows])))
    db.execute(insert(setting), rows)
