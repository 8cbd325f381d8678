"""How long readings are kept one by one: the person's choice, and the duty that follows it."""

from sqlalchemy import Connection, Engine, delete, insert, select

from collector.clock import Clock
from collector.readings.retention import LEAST_D, cut_ms, thin_out
from collector.readings.store import SqliteReadings
from collector.records import tables
from collector.records.columns import to_ms
from collector.records.engine import reading
from collector.records.tables import setting

KEY = "keep.raw_d"
CHOICES = {0: "for ever", 1_826: "for five years", 731: "for two years", 366: "for one year", LEAST_D: "for 90 days"}


def chosen_d(connection: Connection) -> int:
    """For how many days single readings are kept; 0 for ever, which is so until somebody chooses."""
    value = connection.execute(select(setting.c.value).where(setting.c.key == KEY)).scalar()
    return value if isinstance(value, int) and value >= LEAST_D else 0


def choose(connection: Connection, days: int) -> None:
    """Keep the choice, inside the caller's transaction.

    Raises:
        ValueError: fewer days than the rules need.
    """
    if days and days < LEAST_D:
        raise ValueError(f"days must be 0 or at least {LEAST_D}, got {days}")
    connection.execute(delete(setting).where(setting.c.key == KEY))
    connection.execute(insert(setting), [{"key": KEY, "value": days}])


class KeepRaw:
    """Removes what is older than the choice, a little at a time; nothing without a choice."""

    def __init__(self, store: SqliteReadings, records: Engine, clock: Clock) -> None:
        self._store, self._records, self._clock = store, records, clock

    def step(self) -> bool:
        """One commit's worth; True when there is more to do at once."""
        with reading(self._records) as connection:
            days = chosen_d(connection)
            own = select(tables.cursor.c.seq).where(tables.cursor.c.name == "watch")
            watched = connection.execute(own).scalar()
        if not days:
            return False
        return thin_out(self._store, cut_ms(to_ms(self._clock.now()), days), int(watched or 0))
