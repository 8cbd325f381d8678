"""Takes readings that people typed from the records into the readings store, each once."""

from sqlalchemy import Engine, insert, select, update

from collector.air.channel import TYPED_PREFIX
from collector.readings.model import Arrival, Mark, Sample
from collector.readings.store import ReadingStore
from collector.records import tables
from collector.records.columns import to_ms
from collector.records.engine import reading

CURSOR = "typed"
QUANTITIES = (("temperature_c", "temperature", "Cel"), ("humidity_pct", "humidity", "%RH"))


def typed_probe(place_id: str, instrument: str) -> str:
    """A person with an instrument is a probe too: one for each instrument and place."""
    return f"{TYPED_PREFIX}{place_id}/{instrument}"


def take_typed(records: Engine, store: ReadingStore, limit: int = 500) -> int:
    """Move newly typed readings on; the store keeps one of a key, so a crash between is harmless."""
    table = tables.typed_reading
    with reading(records) as connection:
        done = connection.execute(select(tables.cursor.c.seq).where(tables.cursor.c.name == CURSOR)).scalar() or 0
        rows = connection.execute(select(table).where(table.c.seq > done).order_by(table.c.seq).limit(limit)).all()
    if not rows:
        return 0
    store.add([_arrival(row) for row in rows])
    with records.begin() as connection:
        moved = update(tables.cursor).where(tables.cursor.c.name == CURSOR).values(seq=rows[-1].seq)
        if connection.execute(moved).rowcount == 0:
            connection.execute(insert(tables.cursor).values(name=CURSOR, seq=rows[-1].seq))
    return len(rows)


def _arrival(row: object) -> Arrival:
    values = row._mapping  # type: ignore[attr-defined]
    taken_ms = to_ms(values["done_at"])
    samples = tuple(
        Sample(quantity, taken_ms, values[column], unit, quantity, Mark.TYPED)
        for column, quantity, unit in QUANTITIES
        if values[column] is not None
    )
    probe = typed_probe(values["place_id"], values["instrument"])
    return Arrival(probe, probe, to_ms(values["received_at"]), samples)
