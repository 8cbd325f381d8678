"""A store that counts hands everything on."""

from collector.clock import ManualClock
from collector.readings.counted import CountedStore, Tally
from tests.builders import START_AT, a_sample, an_arrival
from tests.contract.memory_store import MemoryStore


def test_it_counts_what_was_committed_and_nothing_else() -> None:
    store = CountedStore(MemoryStore(), ManualClock(START_AT))
    assert store.tally == Tally()
    store.add([an_arrival(a_sample(0), a_sample(1))])
    store.add([an_arrival(a_sample(0)), an_arrival(a_sample(1, 13.0))])
    assert store.tally == Tally(commits=2, kept=2, repeated=1, conflicts=1, last_at=START_AT)
