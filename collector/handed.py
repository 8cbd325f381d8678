"""Messages that came over HTTP: kept in the records until the collector has taken them in, as if from the broker."""

from collections.abc import Callable
from datetime import datetime

from sqlalchemy import Connection, Engine, delete, func, insert, select

from collector.errors import CaveError
from collector.intake.timing import Passage
from collector.readings.model import Arrival, Reject
from collector.readings.store import ReadingStore
from collector.records.columns import to_ms
from collector.records.engine import reading
from collector.records.tables import handed_message

MOST_WAITING = 10_000  # our choice: a week of one probe at one a minute, while the collector is out
AT_ONCE = 500


class TooManyWait(CaveError):
    """So many messages wait for the collector that no more are taken."""

    hint = "Keep it and send it again later; the collector does not run."

    def __init__(self, waiting: int) -> None:
        super().__init__(f"at most {MOST_WAITING} messages may wait for the collector, {waiting} do")
        self.waiting = waiting


def hand_in(db: Connection, topic: str, payload: bytes, received_at: datetime) -> None:
    """Keep a message for the collector, inside the caller's transaction.

    Raises:
        TooManyWait: the collector has not fetched any for long.
    """
    waiting = db.execute(select(func.count()).select_from(handed_message)).scalar_one()
    if waiting >= MOST_WAITING:
        raise TooManyWait(waiting)
    db.execute(insert(handed_message).values(topic=topic, payload=payload, received_at=received_at))


def take_handed(records: Engine, store: ReadingStore, read: Callable[[Passage], Arrival | Reject]) -> int:
    """Move messages on into the readings; returns how many.

    They are dropped after the store has committed them. A crash between is harmless: the second time they have the same
    times, and the store keeps one of a key.
    """
    with reading(records) as db:
        query = select(handed_message).order_by(handed_message.c.seq).limit(AT_ONCE)
        rows = db.execute(query).all()
    if not rows:
        return 0
    store.add([read(Passage(row.topic, to_ms(row.received_at), payload=row.payload)) for row in rows])
    with records.begin() as db:
        db.execute(delete(handed_message).where(handed_message.c.seq <= rows[-1].seq))
    return len(rows)
