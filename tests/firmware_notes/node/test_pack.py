"""What goes over the air, as text; that the collector's decoder agrees is tested beside these."""

import json

from firmware_notes.node import pack

BOOT = 0x5F3A09C1


def test_numbers_are_written_from_whole_steps():
    for steps, decimals, expected in (
        (1199, 2, "11.99"),
        (1205, 2, "12.05"),
        (-5, 2, "-0.05"),
        (-625, 4, "-0.0625"),
        (1250000, 4, "125.0000"),
        (-67, 0, "-67"),
        (0, 2, "0.00"),
    ):
        assert pack.number(steps, decimals) == expected


def test_flash_gives_back_what_it_got():
    records = [(pack.TEMPERATURE, -4000), (pack.HUMIDITY, 10000), (pack.DOOR, 1), (pack.SIGNAL, -90)]
    message = (BOOT, 17, 1790000000, records)
    assert pack.from_bytes(pack.to_bytes(*message)) == message


def test_an_absolute_pack_carries_its_time_once():
    text = pack.senml("lower-fridge", BOOT, 17, [(pack.TEMPERATURE, 1199), (pack.DOOR, 1)], 1790000000)
    assert json.loads(text) == [
        {"bn": "lower-fridge/", "bt": 1790000000, "n": "boot", "vs": "5f3a09c1"},
        {"n": "seq", "v": 17},
        {"n": "temperature", "u": "Cel", "v": 11.99},
        {"n": "door", "vb": True},
    ]


def test_without_a_clock_each_measurement_carries_its_age():
    text = pack.senml("lower-fridge", BOOT, 18, [(pack.HUMIDITY, 8480)], None, 95)
    assert json.loads(text) == [
        {"bn": "lower-fridge/", "n": "boot", "vs": "5f3a09c1"},
        {"n": "seq", "v": 18},
        {"n": "humidity", "u": "%RH", "v": 84.8, "t": -95},
    ]


def test_a_bound_is_marked_as_a_bound():
    text = pack.senml("lower-fridge", BOOT, 19, [(pack.WEIGHT, 2417)], 1790000000, 0, True)
    assert {"n": "time", "vs": "at the latest"} in json.loads(text)


def test_status_leaves_out_what_is_not_known():
    text = pack.status("online", version="1.0", uptime_s=5, battery_pct=None)
    assert json.loads(text) == {"state": "online", "version": "1.0", "uptime_s": 5}
