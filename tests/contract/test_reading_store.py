"""What every reading store promises; a new one joins by one line."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from collector.readings.model import Reject
from collector.readings.store import ReadingStore, SqliteReadings
from tests.builders import a_sample, an_arrival
from tests.contract.memory_store import MemoryStore

STORES = {"memory": lambda _folder: MemoryStore(), "sqlite": lambda folder: SqliteReadings(folder / "r.sqlite3")}


@pytest.fixture(params=sorted(STORES))
def store(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[ReadingStore]:
    store = STORES[request.param](tmp_path)
    yield store
    store.close()


def counts(store: ReadingStore, *arrivals: object) -> tuple[int, int, int]:
    stored = store.add(list(arrivals))  # type: ignore[arg-type]
    return stored.kept, stored.repeated, stored.conflicts


def test_a_reading_sent_twice_is_kept_once(store: ReadingStore) -> None:
    assert counts(store, an_arrival(), an_arrival()) == (1, 1, 0)
    assert counts(store, an_arrival()) == (0, 1, 0)


def test_the_last_value_of_a_time_wins_and_is_counted(store: ReadingStore) -> None:
    assert counts(store, an_arrival(a_sample(value=12)), an_arrival(a_sample(value=13))) == (1, 0, 1)
    assert counts(store, an_arrival(a_sample(value=13))) == (0, 1, 0)


def test_the_same_value_in_another_unit_is_another_value(store: ReadingStore) -> None:
    assert counts(store, an_arrival(a_sample(value=54, unit="Cel"))) == (1, 0, 0)
    assert counts(store, an_arrival(a_sample(value=54, unit="degF"))) == (0, 0, 1)


def test_a_numbered_message_is_kept_once_though_its_time_changes(store: ReadingStore) -> None:
    assert counts(store, an_arrival(a_sample(0), boot="b1", seq=7)) == (1, 0, 0)
    assert counts(store, an_arrival(a_sample(3), boot="b1", seq=7)) == (0, 0, 0)
    assert counts(store, an_arrival(a_sample(6), boot="b2", seq=7)) == (1, 0, 0)


def test_numbers_may_come_in_any_order(store: ReadingStore) -> None:
    order = [5, 1, 3, 2, 4, 9, 8, 2, 5, 9, 1]
    kept = [counts(store, an_arrival(a_sample(i), boot="b", seq=seq))[0] for i, seq in enumerate(order)]
    assert kept == [1, 1, 1, 1, 1, 1, 1, 0, 0, 0, 0]


def test_flights_stay_in_order_until_they_are_forgotten(store: ReadingStore) -> None:
    store.add([an_arrival(a_sample(i), flight=bytes([i])) for i in (1, 2, 1)])
    assert [digest for _, digest in store.flights()] == [b"\x01", b"\x02", b"\x01"]
    store.forget_flights()
    assert store.flights() == []


def test_a_reject_keeps_no_reading(store: ReadingStore) -> None:
    assert counts(store, Reject("cellar", "not a number", b"x", 1)) == (0, 0, 0)


def test_fields_of_one_message_are_kept_apart(store: ReadingStore) -> None:
    both = an_arrival(a_sample(), a_sample(field="humidity", value=86, unit="%RH"))
    assert counts(store, both) == (2, 0, 0)
