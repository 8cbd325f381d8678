"""An entry corrected: its form says it as it was typed, kept unchanged it says the same, and the rest is carried."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from collector.records.columns import new_id
from dashboard.household import Household
from dashboard.rounds.correcting import CORRECTABLE, body_said, corrected, form_texts
from dashboard.rounds.entering import Known, sheet_of
from dashboard.rounds.typed import Asked
from dashboard.wheels.bodies.sheets import GearSheet
from dashboard.wheels.book import Gear
from dashboard.wheels.entries import NewEntry
from dashboard.wheels.entry_kinds import BODY
from dashboard.wheels.model import Entry

DONE_AT = datetime(2026, 3, 10, 8, 5, 31, tzinfo=UTC)
NOW_AT = DONE_AT + timedelta(days=2)
AUCKLAND = Household(time_zone="Pacific/Auckland", temperature_unit="F")
WHEEL, PLACE, OTHER, GEAR, BOARD, PHOTO, PART = (new_id() for _ in range(7))
KNOWN = Known(
    {BOARD: Gear(BOARD, "board", "Board 3", None, False, GearSheet(tare_g=900))}, {("care", "oiled"): "oiled"}
)
BODIES: dict[str, dict[str, Any]] = {
    "weighing": {"scale_g": 2126.215, "board_id": BOARD, "tare_g": 800, "wet": True, "pieces": 2, "start": "cave",
                 "photos": [PHOTO]},
    "care": {"care": "dry_salted", "side": 2, "salt_g": 40, "nothing_new": True, "with_what": "coarse salt"},
    "looked": {"text": "dry"},
    "took_out": {"what": "plug", "taken_g": 12.5, "text": "from the top"},
    "rind_note": {"note": "crack", "where": "top", "how_much": 3, "how_bad": 2, "first_seen_on": "2026-03-01",
                  "last_clean_at": "2026-02-20T08:30:00+00:00", "follows": PART, "photos": [PHOTO]},
    "tasting": {"flavour": "hazelnut", "salt": 3, "verdict": 4, "next_time": "drier", "photos": [PHOTO]},
    "note": {"text": "smells of hay", "photos": [PHOTO]},
    "chore": {"chore": "humidifier_filled", "amount_l": 2.5},
    "gear_check": {"strength_pct": 19.5, "ph": 5.1, "temperature_c": 12.5, "boiled": True},
    "moved": {"spot": "left end", "position": 3},
    "covered": {"covering": "waxed", "coats": 2, "before_g": 2100, "after_g": 2150},
    "cut": {"parts": [{"wheel_id": PART, "code": "24-01/1", "weight_g": 900}], "rest": "eaten", "rest_g": 200},
    "lifted": {"wheel_id": PART, "pieces": 3, "code": "24-01b", "weight_g": 720},
    "counted": {"pieces": 11},
    "ended": {"how": "given", "to_whom": "the neighbour", "amount_g": 300},
    "left_missed": {"text": "was ill"},
    "shelf_photo": {"photos": [PHOTO], "text": "after washing"},
}  # fmt: skip


def an_entry(kind: str, **changed: Any) -> Entry:
    gear_id = GEAR if kind in {"care", "gear_check"} else None
    place_id = PLACE if kind in {"chore", "moved", "shelf_photo"} else None
    wheel_id = None if kind in {"chore", "gear_check", "shelf_photo"} else WHEEL
    body = BODY.validate_python({"kind": kind, **BODIES[kind], **changed})
    return Entry(new_id(), kind, body, DONE_AT, DONE_AT, DONE_AT, wheel_id=wheel_id, place_id=place_id, gear_id=gear_id)


def correct(entry: Entry, **changed: str) -> NewEntry:
    asked = Asked({"seed": new_id(), **form_texts(entry, AUCKLAND), **changed}, AUCKLAND, NOW_AT)
    return corrected(entry, asked, sheet_of(asked, entry.id), KNOWN)[-1]


def said(new: NewEntry) -> dict[str, Any]:
    return new.body.model_dump(mode="json", exclude_unset=True)


def test_every_kind_that_can_be_corrected_is_tried_here() -> None:
    assert set(BODIES) == CORRECTABLE


@pytest.mark.parametrize("kind", BODIES)
def test_a_form_that_is_kept_unchanged_says_the_same_again(kind: str) -> None:
    entry = an_entry(kind)
    new = correct(entry)
    expected = body_said(entry)
    found = {name: value for name, value in said(new).items() if name != "typed"}
    if "last_clean_at" in expected:
        assert datetime.fromisoformat(found.pop("last_clean_at")) == datetime.fromisoformat(
            expected.pop("last_clean_at")
        )
    assert found == pytest.approx(expected) if kind == "gear_check" else found == expected
    assert (new.replaces, new.done_at, new.typed_time) == (entry.id, DONE_AT, True)
    assert (new.wheel_id, new.place_id, new.gear_id) == (entry.wheel_id, entry.place_id, entry.gear_id)


@pytest.mark.parametrize(
    ("kind", "changed", "field", "value"),
    [
        ("weighing", {"weight": "2,86 kg"}, "scale_g", 2860),
        ("care", {"care": "oiled"}, "care", "oiled"),
        ("care", {"care": "own", "own_word": "Oiled"}, "care", "oiled"),
        ("took_out", {"what": "slice"}, "what", "slice"),
        ("took_out", {"taken": "0.5 oz"}, "taken_g", 14.1747615625),  # NIST SP 811, appendix B.8
        ("rind_note", {"note": "slip_skin"}, "note", "slip_skin"),
        ("tasting", {"verdict": "2"}, "verdict", 2),
        ("note", {"text": "smells of straw"}, "text", "smells of straw"),
        ("note", {"note": "crack"}, "note", "crack"),
        ("chore", {"chore": "tray_emptied"}, "chore", "tray_emptied"),
        ("gear_check", {"ph": "4,9"}, "ph", 4.9),
        ("moved", {"spot": "right end"}, "spot", "right end"),
        ("covered", {"coats": "3"}, "coats", 3),
        ("cut", {"rest": "sold"}, "rest", "sold"),
        ("lifted", {"pieces": "2"}, "pieces", 2),
        ("counted", {"pieces": "9"}, "pieces", 9),
        ("ended", {"how": "eaten"}, "how", "eaten"),
        ("looked", {"text": "damp"}, "text", "damp"),
    ],
)  # fmt: skip
def test_what_is_typed_anew_takes_the_old_ones_place(
    kind: str, changed: dict[str, str], field: str, value: Any
) -> None:
    assert said(correct(an_entry(kind), **changed))[field] == pytest.approx(value)


def test_photos_parts_and_what_a_note_follows_are_carried_over() -> None:
    note = said(correct(an_entry("rind_note"), note="", text="only dust"))
    assert (note["kind"], note["photos"]) == ("note", [PHOTO])
    assert said(correct(an_entry("cut"), rest="sold"))["parts"] == BODIES["cut"]["parts"]
    assert said(correct(an_entry("rind_note"), how_bad="1"))["follows"] == PART


def test_a_board_weighs_what_it_weighed_on_the_day() -> None:
    assert said(correct(an_entry("weighing"), weight="2900"))["tare_g"] == 800
    assert "tare_g" not in said(correct(an_entry("weighing"), weight="2900", board=""))


def test_a_moved_wheel_went_to_another_place() -> None:
    assert correct(an_entry("moved"), place=OTHER).place_id == OTHER


def test_another_time_is_the_one_that_was_typed() -> None:
    # 08:05 UTC is 21:05 of the same day in Auckland, summer time.
    assert form_texts(an_entry("looked"), AUCKLAND)["when"] == "2026-03-10T21:05"
    assert correct(an_entry("looked"), when="2026-03-09T20:00").done_at == datetime(2026, 3, 9, 7, tzinfo=UTC)
