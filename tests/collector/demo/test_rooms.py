import numpy as np
import pytest

from collector.demo.quillfold_rooms import BOX, CELLAR, ROOMS, WASHED_FRIDGE
from collector.demo.rooms import Columns, Cooler, Drive


def test_columns_hold_each_rooms_numbers_in_order():
    columns = Columns.of(ROOMS)
    assert columns.volume_m3.tolist() == [room.volume_m3 for room in ROOMS]
    assert columns.power_w.tolist() == [room.cooler.power_w for room in ROOMS]
    assert columns.tank_kg.tolist() == [room.humidifier.tank_kg for room in ROOMS]


def test_a_box_knows_the_fridge_that_it_stands_in():
    names = [room.name for room in ROOMS]
    inside = Columns.of(ROOMS).inside
    assert inside[names.index(BOX)] == names.index(WASHED_FRIDGE)
    assert inside[names.index(CELLAR)] == -1


def test_a_room_inside_an_unknown_one_is_refused():
    with pytest.raises(ValueError, match="washed fridge"):
        Columns.of(ROOMS[3:])


def test_a_room_without_a_cooler_has_no_power():
    assert Cooler().power_w == 0


def test_one_step_of_a_drive_is_cut_out_of_all_its_arrays():
    arrays = [np.full((3, 2), float(number)) + np.arange(3)[:, None] for number in range(12)]
    drive = Drive(*arrays)
    assert drive.at(2).around_c.tolist() == [2.0, 2.0]
    assert drive.at(2).wheels_activity.tolist() == [13.0, 13.0]
