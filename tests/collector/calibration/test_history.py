"""Which check holds when; invented dates."""

from datetime import UTC, datetime, timedelta

from collector.calibration.history import last_check, sensor_changed
from collector.records.facts import Calibration, as_of

START_AT = datetime(2026, 3, 2, tzinfo=UTC)


def on(day: int) -> datetime:
    return START_AT + timedelta(days=day)


def checked(day: int) -> Calibration:
    return Calibration(f"check-{day}", on(day), on(day), "cellar-1", "humidity", -2.0, 1.0, 1.2, "salt")


def test_a_probe_that_nobody_checked_has_no_check() -> None:
    assert last_check([], on(5)) is None
    assert last_check([checked(3)], on(2)) is None


def test_the_newest_check_holds() -> None:
    assert last_check(as_of([checked(3), checked(1)]), on(5)) == checked(3)


def test_a_new_sensor_ends_what_was_checked_before_it() -> None:
    new = sensor_changed("new", "cellar-1", "humidity", on(4), on(6), 3.0, "Keeper")
    history = as_of([checked(1), new, checked(9)])
    assert last_check(history, on(3)) == checked(1)
    assert last_check(history, on(5)) is None
    assert last_check(history, on(10)) == checked(9)


def test_a_new_sensor_is_read_as_it_is() -> None:
    new = sensor_changed("new", "cellar-1", "humidity", on(4), on(6), 3.0, "Keeper")
    assert (new.offset, new.gain, new.uncertainty) == (0.0, 1.0, 3.0)
