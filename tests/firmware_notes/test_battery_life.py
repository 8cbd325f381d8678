"""The current budget against figures worked by hand with pencil and paper rules: current times time."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firmware_notes import battery_life as life
from firmware_notes.node import sht

HABIT = life.Habit(interval_s=300, send_every=6, heat_pulses_a_day=3, surface_sensor=True, door=True)


def uses() -> dict[str, float]:
    return {item.name: item.mah_a_day for item in life.budget(HABIT)}


@pytest.mark.parametrize(
    ("name", "by_hand"),
    [
        ("asleep", 0.012 * 24),  # all day
        ("start and read", 40 * 1.2 * 288 / 3600),  # 288 readings a day
        ("Wi-Fi and sending", 130 * 6 * 48 / 3600),  # 48 times a day
        ("waiting for the DS18B20", 40 * 0.75 * 288 / 3600),
        ("heater", 200 / 3.3 * 3 / 3600),  # 200 mW at 3.3 V, three seconds
        ("awake while heating", 40 * 33 / 3600),
        ("measuring the battery", 4.5 / 1.41e6 * 1000 * 24),  # Ohm's law, 1.41 megohm
        ("door contact", 3.3 / 470e3 * 1000 * 24),
    ],
)
def test_each_use_agrees_with_pencil_and_paper(name: str, by_hand: float) -> None:
    assert uses()[name] == pytest.approx(by_hand, rel=1e-9)


def test_days_are_what_is_usable_over_what_is_used() -> None:
    use = (life.Item("a lamp", 1.0, 3600, 24, "invented"),)  # 24 mAh a day
    battery = life.Battery("a battery", life.Figure(2850, "mAh", ""), life.Figure(0.5, "", ""), life.Figure(0, "", ""))
    assert life.days(battery, use) == pytest.approx(1425 / 24)


def test_its_own_loss_ends_a_battery_that_nobody_uses() -> None:
    battery = life.Battery("a battery", life.Figure(1000, "mAh", ""), life.Figure(1, "", ""), life.Figure(0.1, "", ""))
    assert life.days(battery, ()) == pytest.approx(3650)


@given(st.integers(10, 3000), st.integers(1, 60))
def test_reading_less_often_never_shortens_its_life(interval_s: int, send_every: int) -> None:
    often = life.days(life.ALKALINE, life.budget(life.Habit(interval_s, send_every)))
    seldom = life.days(life.ALKALINE, life.budget(life.Habit(interval_s * 2, send_every)))
    fewer_sendings = life.days(life.ALKALINE, life.budget(life.Habit(interval_s, send_every * 2)))
    assert seldom >= often
    assert fewer_sendings >= often


def test_a_board_that_does_not_sleep_deeply_empties_the_same_cells_in_weeks() -> None:
    frugal = life.days(life.ALKALINE, life.budget(HABIT))
    plain = life.days(life.ALKALINE, life.budget(HABIT, life.SLEEP_PLAIN_MA))
    assert plain < 21 < frugal


def test_pause_and_pulse_are_those_of_the_program() -> None:
    assert life.PULSE_S.value + life.PAUSE_S.value == (sht.PULSE_MS + sht.PAUSE_MS) / 1000


def test_every_figure_has_a_source() -> None:
    lines = life.sources().splitlines()
    assert len(lines) > 15
    assert all(len(line.split(": ", 2)[2]) > 4 for line in lines)


def test_an_impossible_habit_is_refused() -> None:
    with pytest.raises(ValueError, match="interval_s and send_every must be at least 1, got 0 and 6"):
        life.budget(life.Habit(interval_s=0))


def test_the_command_prints_the_table(capsys: pytest.CaptureFixture[str]) -> None:
    life.main(["--interval", "600", "--sleep-ma", "3.8"])
    printed = capsys.readouterr().out
    assert "A reading every 600 s, sent 6 at a time" in printed
    assert "3 AA alkaline cells" in printed


def test_the_command_knows_boards_by_how_deeply_they_sleep(capsys: pytest.CaptureFixture[str]) -> None:
    life.main(["--board", "plain"])
    assert "3.8000" in capsys.readouterr().out


def test_the_command_refuses_nonsense(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        life.main(["--interval", "0"])
    assert ended.value.code == 2
    assert "must be at least 1" in capsys.readouterr().err


def test_the_command_says_where_figures_come_from(capsys: pytest.CaptureFixture[str]) -> None:
    life.main(["--sources"])
    assert "data sheet" in capsys.readouterr().out
