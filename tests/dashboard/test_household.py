"""What a household chose is kept; what it did not choose comes from the machine's zone."""

import pytest
from sqlalchemy import Engine, insert, update

from collector.records.tables import setting
from dashboard.household import Household, is_zone, suggested
from dashboard.household_kept import load, of_this_machine, save


def test_choices_come_back_as_they_were_kept(engine: Engine) -> None:
    chosen = Household("Quiet Hollow", "America/Denver", "F", "lb", "month-day", "https://cave.home.arpa:8443")
    with engine.begin() as db:
        save(db, Household("Before"))
        save(db, chosen)
    with engine.begin() as db:
        assert load(db) == chosen


def test_choices_of_another_version_do_not_break_a_page(engine: Engine) -> None:
    strange = {"of_tomorrow": 1, "temperature_unit": "K", "dairy_name": 7}
    with engine.begin() as db:
        db.execute(insert(setting), [{"key": f"household.{key}", "value": value} for key, value in strange.items()])
        db.execute(update(setting).where(setting.c.key == "household.time_zone").values(value="Moon/Crater"))
    with engine.begin() as db:
        assert load(db) == of_this_machine()


@pytest.mark.parametrize("name", ["", "../../etc/passwd", "/etc/localtime", "Europe", "Moon/Crater"])
def test_what_is_no_zone(name: str) -> None:
    assert not is_zone(name)


@pytest.mark.parametrize(
    ("zone", "unit", "form"),
    [
        ("Europe/Zurich", "C", "day-month"),
        ("America/Los_Angeles", "F", "month-day"),
        ("America/Indiana/Vevay", "F", "month-day"),
        ("America/Toronto", "C", "day-month"),
    ],
)
def test_the_zone_suggests_the_rest(zone: str, unit: str, form: str) -> None:
    found = suggested(zone)
    assert (found.time_zone, found.temperature_unit, found.date_form) == (zone, unit, form)


def test_an_unknown_zone_of_the_machine_is_utc() -> None:
    assert suggested("local").time_zone == "UTC"
