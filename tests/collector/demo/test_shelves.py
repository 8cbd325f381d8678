from collector.demo.scenario import wheels_in
from collector.demo.shelves import MakePlan, Route, wheels_of
from collector.demo.weather import DAY_MS, HOUR_MS
from collector.demo.wheels import Style

# 3 January 2026, 09:00 UTC.
ANCHOR_MS = 20_456 * DAY_MS + 9 * HOUR_MS
TOMME = Style("tomme", 5e-9, 20.0, 0.97)
ROUTE = Route(stays=((0, "counter"), (2, "cellar")))


def test_a_make_becomes_wheels_with_codes_by_year_and_vat():
    makes = (
        MakePlan(10, TOMME, ROUTE, 200, 100, (None, None)),
        MakePlan(4, TOMME, ROUTE, 200, 100, (3,)),
        MakePlan(1, TOMME, ROUTE, 200, 100, (None,)),
    )
    wheels = wheels_of(makes, 7, ANCHOR_MS)
    assert [wheel.code for wheel in wheels] == ["25-01A", "25-01B", "25-02A", "26-01A"]
    first, third = wheels[0], wheels[2]
    assert first.made_ms == (20_456 - 10) * DAY_MS + 15 * HOUR_MS
    assert [stay.from_ms for stay in first.stays] == [first.made_ms, (20_456 - 8) * DAY_MS + 8 * HOUR_MS]
    assert first.gone_ms is None
    assert third.gone_ms == (20_456 - 1) * DAY_MS + 8 * HOUR_MS
    assert wheels[0].own_share != wheels[1].own_share


def test_the_dairy_has_some_thirty_wheels_and_two_batches(world):
    wheels = wheels_in(world)
    batches = [wheel for wheel in wheels if wheel.pieces > 1]
    assert len(batches) == 2
    assert 28 <= len(wheels) - len(batches) <= 38
    assert len({wheel.style.name for wheel in wheels}) >= 6
    assert len({wheel.code for wheel in wheels}) == len(wheels)


def test_wheels_move_and_go_in_order_and_stand_in_known_places(world):
    places = {place.name for place in world.scenario.places}
    for wheel in wheels_in(world):
        moves = [stay.from_ms for stay in wheel.stays]
        assert moves == sorted(set(moves))
        assert moves[0] == wheel.made_ms == wheel.coverings[0].from_ms
        assert wheel.gone_ms is None or wheel.gone_ms > moves[-1]
        assert {stay.place for stay in wheel.stays} <= places
        assert 0.75 <= wheel.own_share <= 1.25


def test_wheels_stand_in_every_room_today(world):
    there = {w.place_at(world.anchor_ms) for w in wheels_in(world) if w.is_there(world.anchor_ms)}
    assert there >= {room.name for room in world.scenario.rooms}
