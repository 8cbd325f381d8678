"""What other devices in the house are told of each place."""

from collector.notify.known import load_known
from collector.notify.states import states
from collector.records.places import change_place
from tests.collector.notify.builders import House, a_warning


def test_each_place_says_whether_all_is_right_and_what_is_not(house: House) -> None:
    house.open(a_warning(), a_warning("saturated", "cellar", severity="note", facts={}))
    with house.records.connect() as connection:
        found = states(connection, load_known(connection, house.now))
    lower, cellar = found["lower"], found["cellar"]
    assert lower is not None
    assert cellar is not None
    assert (lower["place"], lower["all_right"], cellar["all_right"]) == ("Lower fridge", False, True)
    assert lower["open"] == [
        {
            "rule": "too_warm",
            "word": "too warm",
            "severity": "warn",
            "since": "2026-03-12T10:00:00+00:00",
            "probe": None,
        }
    ]
    assert [one["rule"] for one in cellar["open"]] == ["saturated"]


def test_what_is_over_stands_there_no_more(house: House) -> None:
    warm = a_warning()
    house.open(warm)
    house.clear(warm)
    with house.records.connect() as connection:
        found = states(connection, load_known(connection, house.now))
    assert found["lower"] == {"place": "Lower fridge", "all_right": True, "open": []}


def test_a_closed_place_is_taken_away(house: House) -> None:
    with house.records.begin() as connection:
        change_place(connection, "cellar", closed_at=house.now)
        found = states(connection, load_known(connection, house.now))
    assert found["cellar"] is None
