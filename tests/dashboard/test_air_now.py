"""The newest air of a place: whose it is, how fresh, and what is left out."""

from collections.abc import Callable, Iterator
from contextlib import ExitStack
from datetime import timedelta

import pytest
from sqlalchemy import Engine

from collector.air.model import Origin
from collector.air.read import AirReader
from collector.calibration.history import sensor_changed
from collector.readings.reader import Readings
from collector.records.columns import new_id, to_ms
from collector.records.engine import reading
from collector.records.facts import Calibration, Lead
from collector.records.places import add_fact, load_facts
from collector.settings import Settings
from collector.typed import typed_probe
from collector.watch import doubtful_spans
from dashboard.air_now import AirNow, air_now
from dashboard.air_words import checked_on, humidity, reach, whose_air
from dashboard.household import Household
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.dairy import LONG_AGO, a_place, a_placement, a_warning, keep
from tests.dashboard.places_seen import a_message, messages

NOW_MS = to_ms(NOW_AT)
HOUSE = Household(time_zone="UTC")


@pytest.fixture
def seen(settings: Settings, engine: Engine) -> Iterator[Callable[[str], AirNow]]:
    """Looks at a place; call it after everything is kept and committed."""
    with ExitStack() as stack:

        def look(place_id: str) -> AirNow:
            readings = Readings(settings.readings_path)
            stack.callback(readings.close)
            with reading(engine) as db:
                channels = readings.channels()
                doubts = doubtful_spans(db, channels, NOW_MS - 86_400_000, NOW_MS + 1)
                return air_now(AirReader(readings.db, load_facts(db), doubts, channels), place_id, NOW_MS)

        yield look


def test_the_newest_reading_counts_at_once(settings: Settings, engine: Engine, seen: Callable[[str], AirNow]) -> None:
    with engine.begin() as db:
        place_id = a_place(db)
        a_placement(db, "cellar-1", place_id)
    keep(settings, [*messages(until_min_ago=11), a_message("cellar-1", NOW_MS - 30_000, 14.5, 80.0)])
    found = seen(place_id)
    assert (found.temperature_c.value, found.humidity_pct.value) == (14.5, 80.0)
    assert found.newest_ms == NOW_MS - 30_000
    assert whose_air(found, {}, {}) == "by probe cellar-1"
    assert whose_air(found, {"cellar-1": "Old Bess"}, {}) == "by probe Old Bess"


def test_of_several_probes_it_is_the_middle_and_the_lead_speaks_alone(
    settings: Settings, engine: Engine, seen: Callable[[str], AirNow]
) -> None:
    with engine.begin() as db:
        place_id = a_place(db)
        for probe in ("a", "b", "c"):
            a_placement(db, probe, place_id)
    keep(settings, [m for p, t in (("a", 11.0), ("b", 12.0), ("c", 16.0)) for m in messages(p, t, hours=2)])
    found = seen(place_id)
    assert (found.temperature_c.value, found.temperature_c.origin) == (12.0, Origin.MEDIAN)
    assert whose_air(found, {}, {}) == "the middle of 3 probes"
    with engine.begin() as db:
        add_fact(db, Lead(new_id(), LONG_AGO, LONG_AGO, place_id, "c"))
    found = seen(place_id)
    assert (found.temperature_c.value, found.temperature_c.origin) == (16.0, Origin.LEAD)
    assert whose_air(found, {}, {}) == "by probe c, which speaks for this place"


def test_a_probe_that_cannot_be_believed_is_left_out(
    settings: Settings, engine: Engine, seen: Callable[[str], AirNow]
) -> None:
    with engine.begin() as db:
        place_id = a_place(db)
        a_placement(db, "a", place_id)
        a_warning(db, "stuck", hours_ago=2, probe="a", field="temperature", facts={})
    keep(settings, messages("a"))
    found = seen(place_id)
    assert (found.temperature_c.value, found.humidity_pct.value) == (None, 88.0)


def test_a_value_that_no_air_has_is_left_out(settings: Settings, engine: Engine, seen: Callable[[str], AirNow]) -> None:
    with engine.begin() as db:
        place_id = a_place(db)
        a_placement(db, "cellar-1", place_id)
    keep(settings, [*messages(until_min_ago=2), a_message("cellar-1", NOW_MS - 30_000, -127.0, 250.0)])
    found = seen(place_id)
    assert (found.temperature_c.value, found.humidity_pct.value) == (None, None)
    assert [r.doubtful for r in found.heard] == [True, True]


def test_an_old_reading_says_nothing_of_now(settings: Settings, engine: Engine, seen: Callable[[str], AirNow]) -> None:
    with engine.begin() as db:
        place_id = a_place(db)
        a_placement(db, "cellar-1", place_id)
    keep(settings, messages(until_min_ago=31, every_min=10))
    assert seen(place_id).temperature_c.value is None
    assert seen(place_id).newest_ms == NOW_MS - 31 * 60_000


def test_a_box_without_a_probe_has_the_air_around_it_and_a_counter_what_is_assumed(
    settings: Settings, engine: Engine, seen: Callable[[str], AirNow]
) -> None:
    with engine.begin() as db:
        fridge = a_place(db)
        box = a_place(db, "Box", "box", parent_id=fridge)
        counter = a_place(db, "Counter", "counter", assumed_temperature_c=18.5, assumed_humidity_pct=60.0)
        a_placement(db, "cellar-1", fridge)
    keep(settings, messages())
    inner, assumed = seen(box), seen(counter)
    assert (inner.temperature_c.value, inner.temperature_c.origin) == (12.0, Origin.PARENT)
    assert inner.temperature_c.uncertainty > seen(fridge).temperature_c.uncertainty
    names = {fridge: "Lower fridge"}
    assert whose_air(inner, {}, names) == "not measured here, as in Lower fridge around it"
    assert (assumed.humidity_pct.value, assumed.humidity_pct.is_measured) == (60.0, False)
    assert whose_air(assumed, {}, {}) == "assumed, not measured"
    assert humidity(assumed.humidity_pct, HOUSE) == "60 % ± 8"


def test_what_somebody_typed_stands_with_its_instrument(
    settings: Settings, engine: Engine, seen: Callable[[str], AirNow]
) -> None:
    with engine.begin() as db:
        place_id = a_place(db)
        probe = typed_probe(place_id, "dial by the door")
        a_placement(db, probe, place_id)
    keep(settings, [a_message(probe, NOW_MS - 600_000, 11.0, None)])
    found = seen(place_id)
    assert (found.temperature_c.value, found.temperature_c.origin) == (11.0, Origin.TYPED)
    assert whose_air(found, {}, {}) == "typed, dial by the door"


def test_a_check_is_applied_and_told(settings: Settings, engine: Engine, seen: Callable[[str], AirNow]) -> None:
    checked_at = NOW_AT - timedelta(days=3)
    with engine.begin() as db:
        place_id = a_place(db)
        a_placement(db, "cellar-1", place_id)
        check = Calibration(new_id(), checked_at, checked_at, "cellar-1", "humidity", -2.0, 1.0, 1.5, "salt")
        add_fact(db, check)
    keep(settings, messages())
    found = seen(place_id).humidity_pct
    assert found.value == 86.0
    assert checked_on(found, HOUSE) == checked_at.date()
    # Twice the root of the squares of 1.5 (the check), 0.58 (hysteresis) and 0.87 (above 80 %): 3.6 points.
    assert reach(found) == pytest.approx(3.65, abs=0.05)
    assert humidity(found, HOUSE) == "86 % ± 4, checked 9 March"
    assert humidity(seen(place_id).temperature_c, HOUSE).endswith("not checked yet")


def test_a_new_sensor_is_shown_like_one_that_was_never_checked(
    settings: Settings, engine: Engine, seen: Callable[[str], AirNow]
) -> None:
    changed_at = NOW_AT - timedelta(days=3)
    with engine.begin() as db:
        place_id = a_place(db)
        a_placement(db, "cellar-1", place_id)
    keep(settings, messages())
    before = seen(place_id).humidity_pct
    with engine.begin() as db:
        add_fact(
            db, sensor_changed(new_id(), "cellar-1", "humidity", changed_at, changed_at, before.uncertainty, "Keeper")
        )
    found = seen(place_id).humidity_pct
    assert (reach(found), checked_on(found, HOUSE)) == (reach(before), None)


def test_the_newest_air_and_the_rules_air_agree_in_still_air(
    settings: Settings, engine: Engine, seen: Callable[[str], AirNow]
) -> None:
    """Both choose by the same rules: in air that keeps still they must be one."""
    with engine.begin() as db:
        place_id = a_place(db)
        for probe in ("a", "b"):
            a_placement(db, probe, place_id)
    keep(settings, [m for p, t in (("a", 11.0), ("b", 12.0)) for m in messages(p, t, hours=2)])
    readings = Readings(settings.readings_path)
    with reading(engine) as db:
        rules_air = AirReader(readings.db, load_facts(db)).air(place_id, NOW_MS - 3_600_000, NOW_MS)
    readings.close()
    found = seen(place_id)
    assert found.temperature_c.value == pytest.approx(rules_air.temperature_c.mean[-1])
    assert found.temperature_c.origin == rules_air.temperature_c.origin[-1]
    assert found.humidity_pct.uncertainty == rules_air.humidity_pct.uncertainty[-1]
