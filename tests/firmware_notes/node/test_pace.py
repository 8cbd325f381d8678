"""The clock's pace: learned slowly, kept over a power cut, never from a jump."""

from firmware_notes.node.pace import Pace


def taught(folder, error_s, hours):
    pace = Pace(folder + "/pace")
    for _ in range(hours):
        pace.learn(3600 + error_s, 3600)
    return pace


def test_an_unknown_pace_changes_nothing(folder):
    assert Pace(folder + "/pace").right(5000) == 5000


def test_a_fast_clock_is_put_right(folder):
    # 36 s in an hour is one percent; after three hours it shows 108 s too much.
    assert abs(taught(folder, 36, 5).right(3 * 3636) - 3 * 3600) <= 1


def test_a_slow_clock_is_put_right(folder):
    assert abs(taught(folder, -36, 5).right(3 * 3564) - 3 * 3600) <= 1


def test_half_an_hour_teaches_nothing_yet(folder):
    pace = Pace(folder + "/pace")
    pace.learn(1818, 1800)
    assert pace.right(5000) == 5000


def test_it_is_known_after_a_power_cut(folder):
    taught(folder, 36, 5)
    assert abs(Pace(folder + "/pace").right(3636) - 3600) <= 1


def test_a_jump_is_not_learned(folder):
    pace = taught(folder, 36, 5)
    pace.learn(3600 + 90000, 3600)
    assert pace.over_s == 5 * 3636


def test_old_lessons_fade(folder):
    pace = taught(folder, 36, 60)
    for _ in range(200):
        pace.learn(3600, 3600)
    assert abs(pace.right(36000) - 36000) <= 36


def test_a_damaged_file_is_no_lesson(folder):
    taught(folder, 36, 5)
    with open(folder + "/pace", "wb") as file:  # MicroPython has no pathlib
        file.write(b"12345678abcd")
    assert Pace(folder + "/pace").over_s == 0
