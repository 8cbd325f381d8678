"""What a new installation still lacks, until its owner says that it is done."""

from sqlalchemy import Connection, delete, insert, select

from collector.records.tables import setting

KEY = "first_start.done"
LATER_KEY = "first_start.later."
HOUSEHOLD_KEY = "household.time_zone"


def is_open(db: Connection) -> bool:
    """True until the owner has been through the first start, or left it."""
    return not _has(db, KEY)


def household_is_chosen(db: Connection) -> bool:
    """True once somebody saved how this household wants its numbers and times."""
    return _has(db, HOUSEHOLD_KEY)


def finish(db: Connection) -> None:
    """Lead nobody through it again; the pages stay reachable from the settings."""
    db.execute(delete(setting).where(setting.c.key == KEY))
    db.execute(insert(setting), [{"key": KEY, "value": True}])


def _has(db: Connection, key: str) -> bool:
    return db.execute(select(setting.c.key).where(setting.c.key == key)).first() is not None


def put_off(db: Connection, step: str) -> None:
    """A step that its owner wants to take later."""
    if not is_put_off(db, step):
        db.execute(insert(setting), [{"key": LATER_KEY + step, "value": True}])


def is_put_off(db: Connection, step: str) -> bool:
    return _has(db, LATER_KEY + step)
