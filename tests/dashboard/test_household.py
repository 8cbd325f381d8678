"""What a household chose is kept; what it did not choose comes from the machine's zone."""

import pytest
from sqlalchemy import Engine, insert

from collector.records.tables import setting
from dashboard.household import Household, _suggested, load, save


def test_choices_come_back_as_they_were_kept(engine: Engine) -> None:
    chosen = Household("Quiet Hollow", "America/Denver", "F", "lb", "month-day", "https://cave.home.arpa:8443")
    with engine.begin() as db:
        save(db, Household("Before"))
        save(db, chosen)
    with engine.begin() as db:
        assert load(db) == chosen


def test_a_choice_of_a_newer_version_does_not_matter(engine: Engine) -> None:
    with engine.begin() as db:
        db.execute(insert(setting), [{"key": "household.of_tomorrow", "value": 1}])
    with engine.begin() as db:
        assert load(db).time_zone == "UTC"


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
    suggested = _suggested(zone)
    assert (suggested.time_zone, suggested.temperature_unit, suggested.date_form) == (zone, unit, form)


def test_an_unknown_zone_of_the_machine_is_utc() -> None:
    assert _suggested("local").time_zone == "UTC"
