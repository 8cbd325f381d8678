"""What a probe remembers through deep sleep."""

from firmware_notes.node.faults import LinkDown
from firmware_notes.node.state import State
from tests.firmware_notes.node.fakes import FakeBoard


def test_a_fresh_probe_draws_a_boot_id():
    state = State(FakeBoard(LinkDown))
    assert state.boot
    assert state.seq == 0


def test_deep_sleep_keeps_boot_id_and_numbers():
    board = FakeBoard(LinkDown)
    first = State(board)
    numbers = [first.next_seq() for _ in range(5)]
    board.passes(60)
    second = State(board)
    assert second.boot == first.boot
    numbers.append(second.next_seq())
    assert numbers == [1, 2, 3, 4, 5, 6]


def test_a_power_cut_begins_a_new_boot():
    board = FakeBoard(LinkDown)
    first = State(board)
    board.power_cut(10)
    assert State(board).boot != first.boot


def test_a_clock_that_went_back_begins_a_new_boot():
    board = FakeBoard(LinkDown)
    board.passes(500)
    first = State(board)
    board.clock = 3
    assert State(board).boot != first.boot


def test_damaged_memory_begins_a_new_boot():
    board = FakeBoard(LinkDown)
    first = State(board)
    board.kept = board.kept[:5] + b"?" + board.kept[6:]
    assert State(board).boot != first.boot


def test_uptime_goes_on_when_the_clock_is_set():
    board = FakeBoard(LinkDown)
    state = State(board)
    board.passes(100)
    board.set_clock(board.true)
    state.clock_moves(board.true - 100)
    board.passes(20)
    assert state.uptime_s() == 120


def test_uptime_goes_on_when_a_restart_came_between_setting_and_noting():
    board = FakeBoard(LinkDown)
    board.passes(100)
    first = State(board)
    first.born = 0
    first.save()
    board.set_clock(board.true)
    again = State(board)
    assert again.boot == first.boot
    assert again.uptime_s() == 100


def test_counts_stop_at_their_limit():
    state = State(FakeBoard(LinkDown))
    state.refused = 0xFFFF
    state.count("refused")
    state.save()
    assert state.refused == 0xFFFF
