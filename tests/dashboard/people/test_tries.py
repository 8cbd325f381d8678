"""Guessing is slowed, and a guesser does not lock the owner out."""

from dashboard.people.tries import Tries


def test_the_sixth_try_in_a_minute_is_one_too_many() -> None:
    tries = Tries()
    assert [tries.take("Keeper", "10.0.0.5") for _ in range(6)] == [True] * 5 + [False]
    assert not tries.take(" keeper ", "10.0.0.5")


def test_a_guesser_on_another_device_does_not_use_up_the_owners_tries() -> None:
    tries = Tries()
    for _ in range(1_000):
        tries.take("Keeper", "10.0.0.66")
    assert tries.take("Keeper", "10.0.0.5")


def test_many_names_from_one_device_are_slowed_too() -> None:
    tries = Tries()
    taken = [tries.take(f"name {number}", "10.0.0.66") for number in range(50)]
    assert sum(taken) == 20


def test_many_devices_at_one_name_are_slowed_too() -> None:
    tries = Tries()
    taken = [tries.take("Keeper", f"10.0.{number}.1") for number in range(200)]
    assert sum(taken) == 100
