"""The humidity that suits a cave's wheels, beside what it has held, and refusals."""

from dataclasses import replace

from dashboard.weights.cave_setting import headline, range_words, wants
from dashboard.wheels.bodies.sheets import LossLimit, StyleSheet, WheelSheet
from dashboard.wheels.book import Wheel
from dashboard.wheels.weight.setting import Setting, Wants

WIDE = Setting(87.0, 85.0, 89.0)


def test_what_suits_and_is_held_is_good() -> None:
    state, words = headline(WIDE, (82.0, 91.0), True, "lower fridge")
    assert (state, words) == ("good", "About 87 % (85 to 89) suits the wheels here.")


def test_a_cave_that_cannot_do_it_says_so() -> None:
    state, words = headline(WIDE, (91.0, 96.0), True, "lower fridge")
    assert state == "bad"
    assert words.endswith("Lower fridge has not shown that it can: it stays between 91 and 96 %.")


def test_a_cave_that_is_mostly_damper_says_so() -> None:
    assert headline(WIDE, (86.0, 95.0), True, "x")[1].endswith("Now it is damper than that most of the time.")
    assert headline(WIDE, (70.0, 86.0), True, "x")[1].endswith("Now it is drier than that most of the time.")


def test_who_stands_out_is_named() -> None:
    words = headline(replace(WIDE, want_damper=("26-11A",)), (82.0, 91.0), True, "x")[1]
    assert "suits all but 26-11A, which wants it damper: move or cover what stands out." in words


def test_no_setting_for_most_and_for_none() -> None:
    assert "A want it" not in headline(Setting(want_damper=("A",), want_drier=("B", "C")), None, True, "x")[1]
    assert (
        "A wants it damper than B, C"
        in headline(Setting(want_damper=("A",), want_drier=("B", "C")), None, True, "x")[1]
    )
    assert headline(Setting(hopeless=("A",)), None, True, "x")[1].startswith("No humidity will do")
    assert headline(Setting(), None, False, "x")[0] == "unknown"


def test_a_wheel_that_no_air_helps() -> None:
    dry = Wants("A", (75.0, 95.0), (30.0, 12.0), 2.0, 5.0, 97.0)
    assert range_words(dry) == "no humidity will do: it has lost too much already"
    assert range_words(replace(dry, loss_pct=(1.0, 0.1), low_pct=8.0, high_pct=12.0)).startswith(
        "no humidity will do: it cannot"
    )
    assert range_words(replace(dry, loss_pct=(20.0, 4.0), low_pct=8.0, high_pct=12.0)) == "85 to 90 %"


def test_what_its_style_says_today_counts_not_what_it_said_when_it_was_worked_out() -> None:
    wheel = Wheel(
        id="1", code="24-07B", make_id=None, style_id="s", parent_id=None, made_on=None, state="alive", state_at=None,
        pieces_left=1, place_id=None, place_since_at=None, spot="", position=None, covering="bare", coats=0,
        net_g=None, weighed_at=None, start=None, start_g=2_000.0, loss_pct=None, sheet=WheelSheet(),
    )  # fmt: skip
    facts = {"start_g": 2_000.0, "wants": {"loss_pct": [20.0, 4.0], "low_pct": 8, "high_pct": 12, "takes_up_pct": 97}}
    sheet = StyleSheet(losses=(LossLimit(up_to_g=1_000, low_pct=1, high_pct=2), LossLimit(low_pct=10, high_pct=16)))
    told = wants(wheel, facts, sheet)
    assert told is not None
    assert (told.low_pct, told.high_pct) == (10, 16)
    kept = wants(wheel, facts, None)
    assert kept is not None
    assert (kept.low_pct, kept.high_pct) == (8, 12)
    assert wants(wheel, {}, sheet) is None
