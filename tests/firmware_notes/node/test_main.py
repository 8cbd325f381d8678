"""The probe's round on a likeness of the board: what is kept, sent, refused and heated."""

import json

from firmware_notes.node import settings as delivered
from firmware_notes.node.check_settings import check
from firmware_notes.node.faults import BadSettings, LinkDown, SensorFault
from firmware_notes.node.main import Probe
from tests.firmware_notes.node.fakes import FakeAir, FakeBoard, refused


class Settings:
    """The delivered settings with a few changed."""

    def __init__(self, folder, **changed):
        for name in dir(delivered):
            if name.isupper() or "_" in name[1:-1]:
                setattr(self, name, getattr(delivered, name))
        self.KEEP_FOLDER = folder
        for name, value in changed.items():
            setattr(self, name, value)


class BrokenAir(FakeAir):
    def read(self):
        raise SensorFault("sht4x: no good answer in 3 tries (test)")


def a_board(settings, air=None):
    board = FakeBoard(LinkDown, air or FakeAir())
    board.settings = settings
    return board


def rounds(probe, board, count):
    for _ in range(count):
        board.passes(probe.round())


def readings(board):
    return [json.loads(text) for topic, text, _ in board.published if topic.endswith("/readings")]


def numbers(board):
    return [pack[1]["v"] for pack in readings(board)]


def taken(packs):
    return [pack[0].get("bt") for pack in packs]


def test_a_reading_is_sent_in_the_round_that_took_it(folder):
    board = a_board(Settings(folder))
    Probe(board, board.settings).round()
    (pack,) = readings(board)
    assert {"n": "temperature", "u": "Cel", "v": 11.99} in pack
    assert {"n": "humidity", "u": "%RH", "v": 84.8} in pack
    assert pack[0]["bn"] == "lower-fridge/"


def test_the_first_message_after_power_on_is_the_retained_status(folder):
    board = a_board(Settings(folder))
    Probe(board, board.settings).round()
    topic, text, retained = board.published[0]
    status = json.loads(text)
    assert topic == "rindwatch/lower-fridge/status"
    assert retained
    assert status["state"] == "online"
    assert status["signal_dbm"] == -67
    assert status["at_latest_every_s"] >= board.settings.INTERVAL_S


def test_the_last_will_says_offline(folder):
    board = a_board(Settings(folder))
    Probe(board, board.settings).round()
    topic, text = board.wills[0]
    assert topic == "rindwatch/lower-fridge/status"
    assert json.loads(text)["state"] == "offline"


def test_a_probe_that_sleeps_leaves_no_will(folder):
    board = a_board(Settings(folder, POWER="battery"))
    Probe(board, board.settings).round()
    assert board.wills == [None]


def test_an_hour_without_network_loses_nothing(folder):
    board = a_board(Settings(folder))
    probe = Probe(board, board.settings)
    rounds(probe, board, 5)
    board.online = False
    rounds(probe, board, 60)
    board.online = True
    rounds(probe, board, 1)
    assert numbers(board) == list(range(1, 67))
    times = taken(readings(board))
    assert times == [times[0] + 60 * at for at in range(66)]


def test_lost_answers_are_sent_again_with_the_same_number(folder):
    board = a_board(Settings(folder))
    board.acks_left = 1  # The status is acknowledged, the first reading is not.
    probe = Probe(board, board.settings)
    rounds(probe, board, 1)
    board.acks_left = 1 << 30
    rounds(probe, board, 1)
    assert numbers(board) == [1, 1, 2]
    assert len(set(taken(readings(board))[:2])) == 1


def test_before_the_clock_is_set_readings_go_out_with_their_age(folder):
    board = a_board(Settings(folder))
    board.has_time = board.online = False
    probe = Probe(board, board.settings)
    rounds(probe, board, 3)
    board.online = True
    rounds(probe, board, 1)
    packs = readings(board)
    assert taken(packs) == [None] * 4
    assert [pack[2].get("t", 0) for pack in packs] == [-180, -120, -60, 0]


def test_readings_before_the_first_time_get_an_absolute_one_once_it_is_known(folder):
    board = a_board(Settings(folder))
    board.online = False
    probe = Probe(board, board.settings)
    began = board.true
    rounds(probe, board, 3)
    board.online = True
    rounds(probe, board, 1)
    assert taken(readings(board)) == [began + 60 * at for at in range(4)]


def test_after_a_power_cut_old_readings_go_out_under_their_old_boot(folder):
    settings = Settings(folder)
    board = a_board(settings)
    probe = Probe(board, settings)
    rounds(probe, board, 2)
    board.online = False
    rounds(probe, board, 3)
    board.power_cut(1000)
    probe = Probe(board, settings)
    board.online = True
    rounds(probe, board, 1)
    packs = readings(board)
    boots = [pack[0]["vs"] for pack in packs]
    assert boots == [boots[0]] * 5 + [boots[5]]
    assert boots[5] != boots[0]
    assert [pack[1]["v"] for pack in packs] == [1, 2, 3, 4, 5, 1]
    assert taken(packs)[:5] == [taken(packs)[0] + 60 * at for at in range(5)]


def test_a_time_that_can_never_be_known_is_marked_as_a_bound(folder):
    settings = Settings(folder)
    board = a_board(settings)
    board.online = False
    rounds(Probe(board, settings), board, 2)
    board.power_cut(1000)
    started = board.true
    board.online = True
    rounds(Probe(board, settings), board, 1)
    first, second, third = readings(board)
    mark = {"n": "time", "vs": "at the latest"}
    assert mark in first
    assert mark in second
    assert mark not in third
    assert taken([first, second, third]) == [started - 61, started - 1, started]


def test_battery_sleeps_and_sends_in_batches(folder):
    settings = Settings(folder, POWER="battery", SEND_EVERY=5)
    board = a_board(settings)
    sent = []
    for _ in range(12):
        probe = Probe(board, settings)  # Deep sleep starts the program anew.
        probe.rest(probe.round())
        sent.append(len(readings(board)))
    assert sent == [1, 1, 1, 1, 1, 6, 6, 6, 6, 6, 11, 11]
    assert numbers(board) == list(range(1, 12))
    assert len(board.slept) == 12


def test_battery_waits_longer_while_the_network_is_away(folder):
    settings = Settings(folder, POWER="battery", SEND_EVERY=1)
    board = a_board(settings)
    board.online = False
    tries = []
    refuse = board.network_up

    def count_tries():
        tries.append(board.clock)
        refuse()

    board.network_up = count_tries
    for _ in range(64):
        probe = Probe(board, settings)
        probe.rest(probe.round())
    assert 4 <= len(tries) <= 12
    board.online = True
    for _ in range(16):
        probe = Probe(board, settings)
        probe.rest(probe.round())
    assert numbers(board)[:64] == list(range(1, 65))


def test_a_moved_door_is_sent_at_once(folder):
    settings = Settings(folder, POWER="battery", SEND_EVERY=60, DOOR=True)
    board = a_board(settings)
    board.door = False
    for _ in range(3):
        probe = Probe(board, settings)
        probe.rest(probe.round())
    board.door = True
    Probe(board, settings).round()
    assert {"n": "door", "vb": True} in readings(board)[-1]


def test_on_mains_a_moved_door_ends_the_rest(folder):
    settings = Settings(folder, DOOR=True)
    board = a_board(settings)
    board.door = False
    probe = Probe(board, settings)
    wait_s = probe.round()
    board.door = True
    before = board.clock
    probe.rest(wait_s)
    assert board.clock == before


def test_a_broken_sensor_is_counted_told_and_does_not_stop_the_rest(folder):
    settings = Settings(folder, DOOR=True)
    board = a_board(settings, BrokenAir())
    board.door = False
    Probe(board, settings).round()
    status = json.loads(board.published[0][1])
    assert status["refused"] == 1
    assert "no good answer" in status["fault"]
    (pack,) = readings(board)
    assert {"n": "door", "vb": False} in pack
    assert not [record for record in pack if record["n"] in ("temperature", "humidity")]


def test_heating_comes_at_its_interval_and_no_air_is_read_until_it_settled(folder):
    settings = Settings(folder, INTERVAL_S=600, HEAT_EVERY_H=1, SETTLE_S=1200, DOOR=True)
    board = a_board(settings)
    board.door = False
    rounds(Probe(board, settings), board, 14)
    with_air = [any(record["n"] == "humidity" for record in pack) for pack in readings(board)]
    assert board.air.heated == [3, 3]
    assert with_air == [True] * 7 + [False] + [True] * 5 + [False]


def test_heating_can_be_switched_off(folder):
    settings = Settings(folder, INTERVAL_S=3600, HEAT_EVERY_H=0)
    board = a_board(settings)
    rounds(Probe(board, settings), board, 50)
    assert board.air.heated == []


def test_a_long_backlog_does_not_hold_up_the_next_reading(folder):
    settings = Settings(folder)
    board = a_board(settings)
    board.online = False
    probe = Probe(board, settings)
    rounds(probe, board, 400)
    board.online = True
    feed = board.wait_ms

    def slow_network(duration_ms):
        board.passes(5 if duration_ms == 0 else duration_ms // 1000)

    board.wait_ms = slow_network
    waits = [probe.round()]
    board.passes(waits[0])
    assert 0 < len(readings(board)) < 100
    assert waits[0] > 1
    board.wait_ms = feed
    rounds(probe, board, 1)
    assert sorted(set(numbers(board))) == list(range(1, 403))


def test_settings_that_cannot_work_are_refused_by_name(folder):
    for changed, words in (
        ({"PROBE": "lower fridge"}, "PROBE must be 1 to 40 letters"),
        ({"PROBE": "-x"}, "PROBE"),
        ({"PROBE": ""}, "PROBE"),
        ({"WIFI_NAME": ""}, "WIFI_NAME must not be empty"),
        ({"POWER": "solar"}, "POWER must be one of"),
        ({"INTERVAL_S": 1}, "INTERVAL_S must be from 5 to 3600, got 1"),
        ({"INTERVAL_S": "60"}, "INTERVAL_S"),
        ({"BATTERY_FULL_MV": 3000}, "BATTERY_FULL_MV must be above"),
        ({"LOAD_CELL": True, "LOAD_CELL_PER_KG": 0}, "LOAD_CELL_PER_KG"),
        ({"LOAD_CELL": True, "POWER": "battery"}, "LOAD_CELL needs POWER to be mains"),
        ({"HUMIDITY_SENSOR": None}, "no sensor is chosen"),
    ):
        said = refused(lambda: check(Settings(folder, **changed)), BadSettings)  # noqa: B023
        assert words in said, said


def test_the_delivered_settings_can_work():
    check(delivered)


def test_the_status_is_told_again_every_quarter_of_an_hour(folder):
    board = a_board(Settings(folder))
    rounds(Probe(board, board.settings), board, 31)
    statuses = [text for topic, text, _ in board.published if topic.endswith("/status")]
    assert len(statuses) == 3


def test_a_quiet_connection_is_kept_alive(folder):
    settings = Settings(folder, INTERVAL_S=600)
    board = a_board(settings)
    probe = Probe(board, settings)
    probe.rest(probe.round())
    assert 9 <= board.pings <= 10
