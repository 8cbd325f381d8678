"""The network's time, and the time of readings taken before it was known."""

import struct

from firmware_notes.node import clock
from tests.firmware_notes.node.fakes import refused

ASKED = b"\1\2\3\4\5\6\7\x08"
# NTP seconds of 1970-01-01, RFC 5905 figure 4: 2 208 988 800.
NTP_1970 = 2208988800
NOON = 1790000000  # 2026-09-21, an invented moment.


def answer(seconds=NOON, fraction=0, first=0x24, stratum=2, asked=ASKED):
    head = bytes((first, stratum)) + bytes(22) + asked + bytes(8)
    return head + struct.pack(">II", (seconds + NTP_1970) & 0xFFFFFFFF, fraction)


def test_a_time_server_is_understood():
    assert clock.ntp_time(answer(), ASKED) == NOON
    assert clock.ntp_time(answer(fraction=0xC0000000), ASKED) == NOON + 1


def test_the_count_that_starts_anew_in_2036_is_understood():
    # RFC 5905 figure 4: era 1 begins on 7 February 2036 at 06:28:16 UTC = 2085978496 s since 1970.
    assert clock.ntp_time(answer(2085978496 + 5), ASKED) == 2085978496 + 5


def test_answers_that_cannot_be_believed_are_refused():
    for wrong, word in (
        (answer(first=0xE4), "does not know"),
        (answer(stratum=0), "does not know"),
        (answer(first=0x23), "not an answer"),
        (answer(asked=bytes(8)), "not an answer"),
        (answer(0), "year"),
        (b"short", "not an answer"),
    ):
        assert word in refused(lambda: clock.ntp_time(wrong, ASKED), OSError)  # noqa: B023


def times_of(entries, running, born):
    """Times after one pass; entries are (boot, stamp) or (boot, stamp, true, since, born)."""
    times = clock.Times()
    for place, entry in enumerate(entries):
        if len(entry) == 2:
            times.note_message((0, place), *entry)
        else:
            times.note_anchor((0, place), clock.anchor(*entry))
    times.close(running, born)
    return times


def test_a_reading_before_the_first_setting_gets_its_time_from_the_anchor():
    times = times_of([(7, 10), (7, 70), (7, 100, NOON, 0, 0)], 7, NOON - 100)
    assert times.when((0, 0), 7, 10, 7, NOON + 60) == (NOON - 90, True)
    assert times.when((0, 1), 7, 70, 7, NOON + 60) == (NOON - 30, True)


def test_that_holds_after_a_power_cut():
    times = times_of([(7, 10), (7, 100, NOON, 0, 0)], 8, 0)
    assert times.when((0, 0), 7, 10, 8, 500) == (NOON - 90, True)


def test_a_reading_of_this_boot_without_a_clock_keeps_its_clock_value():
    times = times_of([(7, 10)], 7, 0)
    assert times.when((0, 0), 7, 10, 7, 400) == (10, True)


def test_a_clock_that_ran_fast_is_corrected_between_two_settings():
    start = NOON
    found = start + 3636  # It showed 36 s too much after an hour.
    times = times_of([(7, start + 1818), (7, found, start + 3600, start, start - 5)], 7, start - 5)
    assert times.when((0, 0), 7, start + 1818, 7, start + 3600) == (start + 1800, True)


def test_a_jump_is_not_taken_for_drift():
    times = times_of([(7, NOON + 1800), (7, NOON + 3600, NOON + 90000, NOON, NOON)], 7, NOON)
    assert times.when((0, 0), 7, NOON + 1800, 7, NOON + 90000) == (NOON + 1800, True)


def test_a_boot_that_never_had_the_time_is_bounded_by_the_next_one():
    # Boot 7 took readings at 10 and 70; boot 8 started 100 s before its anchor.
    times = times_of([(7, 10), (7, 70), (8, 100, NOON, 0, 0)], 8, NOON - 100)
    assert times.when((0, 1), 7, 70, 8, NOON) == (NOON - 101, False)
    assert times.when((0, 0), 7, 10, 8, NOON) == (NOON - 161, False)


def test_two_such_boots_are_bounded_one_behind_the_other():
    times = times_of([(7, 10), (7, 70), (8, 20), (8, 50), (9, 100, NOON, 0, 0)], 9, NOON - 100)
    assert times.when((0, 2), 8, 20, 9, NOON) == (NOON - 131, False)
    assert times.when((0, 1), 7, 70, 9, NOON) == (NOON - 132, False)
    assert times.when((0, 0), 7, 10, 9, NOON) == (NOON - 192, False)


def test_without_any_time_it_is_bounded_by_this_power_on():
    times = times_of([(7, 10), (7, 70), (8, 5)], 8, 3)
    assert times.when((0, 1), 7, 70, 8, 203) == (2, False)
    assert times.when((0, 2), 8, 5, 8, 203) == (5, True)


def test_a_power_cut_between_anchor_and_setting_leaves_the_anchor_good():
    # The anchor is written, the clock is not set yet, and another reading follows.
    times = times_of([(7, 10), (7, 100, NOON, 0, 0), (7, 130)], 8, NOON + 900)
    assert times.when((0, 2), 7, 130, 8, NOON + 1000) == (NOON + 30, True)


def test_times_are_whole_numbers():
    # The board's floats cannot hold seconds since 1970.
    times = times_of([(7, 10), (7, 101, NOON, 0, 0), (7, NOON + 9), (7, NOON + 61, NOON + 60, NOON, 0)], 7, 0)
    for place, stamp in ((0, 10), (2, NOON + 9)):
        assert isinstance(times.when((0, place), 7, stamp, 7, NOON + 60)[0], int)


def test_a_known_pace_also_rules_while_the_clock_is_not_set():
    times = clock.Times(lambda run_s: run_s - run_s // 100)
    times.note_message((0, 0), 7, 100)
    times.note_anchor((0, 1), clock.anchor(7, 1100, NOON, 0, 0))
    times.close(7, 0)
    assert times.when((0, 0), 7, 100, 7, NOON) == (NOON - 990, True)
