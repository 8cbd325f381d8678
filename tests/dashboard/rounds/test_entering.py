"""From what a form says to entries: once for each form however often it is sent, and what is missing said by field."""

from datetime import UTC, datetime
from typing import Any

import pytest

from collector.errors import EntryRefused
from collector.records.columns import new_id
from dashboard.household import Household
from dashboard.rounds.actions import read_action
from dashboard.rounds.entering import (
    Known,
    gear_entries,
    place_entries,
    sheet_of,
    shelf_entries,
    wheel_entries,
)
from dashboard.rounds.typed import Asked
from dashboard.wheels.bodies.sheets import GearSheet
from dashboard.wheels.book import Gear
from dashboard.wheels.entries import NewEntry

NOW_AT = datetime(2026, 3, 12, 14, 10, tzinfo=UTC)
WHEEL, OTHER, PLACE, BOARD, SCALE, JAR = (new_id() for _ in range(6))
SEED = new_id()
KNOWN = Known(
    {
        BOARD: Gear(BOARD, "board", "Board 3", None, False, GearSheet(tare_g=800)),
        SCALE: Gear(SCALE, "scale", "Kitchen", None, False, GearSheet(step_g=5)),
    },
    {("rind_note", "crack"): "crack", ("rind_note", "moon craters"): "own_123"},
)


def asked(household: Household | None = None, **texts: str) -> Asked:
    return Asked({"seed": SEED, **texts}, household or Household(), NOW_AT)


def entered(kind: str, **texts: str) -> list[NewEntry]:
    said = asked(**texts)
    return wheel_entries(kind, WHEEL, said, sheet_of(said, WHEEL), KNOWN)


def body(kind: str, **texts: str) -> dict[str, Any]:
    return entered(kind, **texts)[-1].body.model_dump(exclude_unset=True)


def test_a_weighing_takes_board_tare_scale_step_and_what_was_typed() -> None:
    assert body("weighing", weight="2,86", unit="kg", board=BOARD, scale=SCALE, wet="yes", start="cave") == {
        "kind": "weighing", "scale_g": 2860, "board_id": BOARD, "tare_g": 800, "scale_id": SCALE, "step_g": 5,
        "wet": True, "start": "cave", "typed": "2,86 kg",
    }  # fmt: skip


# The pound and the ounce are exact: NIST SP 811, appendix B.8.
@pytest.mark.parametrize(
    ("text", "unit", "grams"),
    [("7 lb 2 oz", "g", 7 * 453.59237 + 2 * 28.349523125), ("4 lb 11", "lb", 4 * 453.59237 + 11 * 28.349523125),
     ("3,2 kg", "g", 3200), ("2860", "g", 2860), ("75.5", "oz", 75.5 * 28.349523125)],
)  # fmt: skip
def test_weights_are_understood_as_people_type_them(text: str, unit: str, grams: float) -> None:
    assert body("weighing", weight=text, unit=unit)["scale_g"] == pytest.approx(grams)


def test_a_bare_weight_is_in_the_households_unit_where_no_keypad_says_it() -> None:
    said = asked(Household(weight_unit="lb"), taken="2", what="plug")
    found = wheel_entries("took_out", WHEEL, said, sheet_of(said), KNOWN)
    assert found[0].body.model_dump()["taken_g"] == pytest.approx(56.69904625)


def test_a_new_board_comes_along_and_is_used() -> None:
    board, weighing = entered("weighing", weight="2860", board="new", board_name="Oak 1", board_tare="790 g")
    assert board.body.model_dump(exclude_unset=True) == {
        "kind": "gear", "gear": "board", "name": "Oak 1", "tare_g": 790,
    }  # fmt: skip
    assert weighing.body.model_dump()["board_id"] == board.gear_id


def test_a_word_that_is_in_the_lists_is_taken_from_them_and_a_new_one_is_added() -> None:
    assert [entry.kind for entry in entered("rind_note", own_word="Moon craters")] == ["rind_note"]
    assert body("rind_note", own_word="Moon craters")["note"] == "own_123"
    word, note = entered("rind_note", note="own", own_word="elephant skin")
    assert word.body.model_dump()["word"] == "elephant skin"
    assert note.body.model_dump()["note"] == word.body.model_dump()["name"]


def test_the_same_form_sent_twice_makes_the_same_ids_and_another_makes_others() -> None:
    ids = [entry.id for entry in entered("weighing", weight="2860")]
    assert ids == [entry.id for entry in entered("weighing", weight="2860")]
    said = Asked({"seed": new_id(), "weight": "2860"}, Household(), NOW_AT)
    assert ids != [entry.id for entry in wheel_entries("weighing", WHEEL, said, sheet_of(said, WHEEL), KNOWN)]


def test_a_time_that_was_typed_is_meant_and_a_blank_one_is_now() -> None:
    typed = entered("looked", when="2026-03-12T08:00")[0]
    assert (typed.done_at, typed.typed_time) == (datetime(2026, 3, 12, 8, tzinfo=UTC), True)
    now = entered("looked")[0]
    assert (now.done_at, now.typed_time) == (NOW_AT, False)


def test_a_shelf_has_one_group_and_only_a_wash_names_its_jar() -> None:
    said = asked(gear=JAR, side="1")
    washed = shelf_entries(read_action("washed"), [WHEEL, OTHER], sheet_of(said), said)
    assert [(entry.wheel_id, entry.gear_id) for entry in washed] == [(WHEEL, JAR), (OTHER, JAR)]
    assert len({entry.group_id for entry in washed}) == 1
    turned = shelf_entries(read_action("turned+clean"), [WHEEL], sheet_of(said), said)
    assert turned[0].body.model_dump(exclude_unset=True) == {"kind": "care", "care": "turned", "nothing_new": True}
    salted = shelf_entries(read_action("dry_salted"), [WHEEL], sheet_of(said), said)
    assert salted[0].body.model_dump(exclude_unset=True) == {"kind": "care", "care": "dry_salted", "side": 1}


@pytest.mark.parametrize(
    ("kind", "texts", "field"),
    [
        ("weighing", {}, "weight"),
        ("weighing", {"weight": "heavy"}, "weight"),
        ("weighing", {"weight": "900 kg"}, "weight"),
        ("weighing", {"weight": "700", "board": BOARD}, "body.weighing"),
        ("weighing", {"weight": "2860", "board": "new"}, "board_name"),
        ("rind_note", {"note": "own"}, "note"),
        ("rind_note", {"note": "crack", "how_much": "nine"}, "how_much"),
        ("rind_note", {"note": "crack", "first_seen": "the day after"}, "first_seen"),
        ("took_out", {"taken": "12"}, "what"),
        ("tasting", {"verdict": "9"}, "body.tasting.verdict"),
        ("looked", {"when": "2030-01-01T08:00"}, "when"),
        ("care", {"care": "own"}, "care"),
    ],
)
def test_what_is_missing_or_cannot_be_read_is_said_by_field(kind: str, texts: dict[str, str], field: str) -> None:
    with pytest.raises(EntryRefused) as refused:
        entered(kind, **texts)
    assert refused.value.field == field
    assert str(refused.value)


def test_a_form_without_its_seed_is_refused() -> None:
    with pytest.raises(EntryRefused, match="Open the page again"):
        sheet_of(Asked({"seed": "x"}, Household(), NOW_AT))


def test_no_wheel_and_no_such_button_are_refused() -> None:
    said = asked()
    with pytest.raises(EntryRefused, match="Mark at least one wheel"):
        shelf_entries(read_action("turned"), [], sheet_of(said), said)
    with pytest.raises(EntryRefused, match="own buttons"):
        read_action("Turned; drop table")


def test_chores_and_checks_say_what_was_filled_in() -> None:
    said = asked(chore="humidifier_filled", amount="2,5 l")
    chore = place_entries(said, PLACE, sheet_of(said), KNOWN)[0]
    assert (chore.place_id, chore.body.model_dump()["amount_l"]) == (PLACE, 2.5)
    said = asked(strength_pct="19,5 %", ph="5.1", temperature_c="54F", boiled="yes")
    check = gear_entries(said, JAR, sheet_of(said))[0].body.model_dump(exclude_unset=True)
    # 54 degF is 12.2 degC (NIST SP 811, appendix B.8).
    assert check.pop("temperature_c") == pytest.approx(110 / 9)
    assert check == {"kind": "gear_check", "strength_pct": 19.5, "ph": 5.1, "boiled": True}
    with pytest.raises(EntryRefused, match="Fill in what was measured"):
        gear_entries(asked(), JAR, sheet_of(asked()))
