"""A wheel's life as marks in words."""

import pytest

from dashboard.wheels.bodies.base import Body
from dashboard.wheels.bodies.doings import (
    Care,
    Cut,
    CutPart,
    Ended,
    LeftMissed,
    Lifted,
    Looked,
    Note,
    RindNote,
    Tasting,
    TookOut,
)
from dashboard.wheels.entry_kinds import BODY, ENTRY_KINDS
from dashboard.wheels.losses import LossPoint
from dashboard.wheels.timeline import LANES, timeline, word_of
from tests.dashboard.wheels.builders import OTHER, a_wheel, covered, day, noted, turned, weighed


@pytest.mark.parametrize(
    ("body", "word"),
    [
        (turned(), "turned"),
        (turned(nothing_new=True), "turned, nothing new"),
        (Care(care="dry_salted", side=2), "dry-salted, side 2"),
        (Care(care="sung_to"), "sung to"),
        (Looked(), "looked at, nothing new"),
        (Looked(nothing_new=False), "looked at"),
        (weighed(2_000, wet=True), "weighed wet"),
        (weighed(2_000, start="press"), "weighed, out of the press"),
        (covered("coat"), "coat"),
        (covered("coat", coats=3), "3 coats"),
        (covered("mud"), "mud"),
        (RindNote(note="cat_hair", where="edge"), "cat hair (grey and hairy), edge"),
        (RindNote(note="crack", gone=True), "crack gone"),
        (RindNote(note="velvet"), "velvet"),
        (Cut(parts=(CutPart(wheel_id=OTHER),)), "cut, 1 part goes on"),
        (Cut(), "cut, 0 parts go on"),
        (Lifted(wheel_id=OTHER, pieces=2), "2 lifted out"),
        (TookOut(what="plug", taken_g=4), "took out a plug"),
        (Ended(how="given", pieces=2, to_whom="an aunt"), "2 given away (an aunt)"),
        (Ended(how="thrown", reason="swollen"), "thrown away: swollen"),
        (Tasting(verdict=4), "tasted, 4 of 5"),
        (Tasting(), "tasted"),
        (LeftMissed(), "missed care left"),
        (Note(), "note"),
    ],
)
def test_what_happened_is_said_in_the_trades_words(body: Body, word: str) -> None:
    assert word_of(body) == word


def test_a_households_own_words_are_used() -> None:
    own = {("rind_note", "velvet"): "Velvet", ("care", "sung_to"): "sung to softly"}
    assert word_of(RindNote(note="velvet"), own) == "Velvet"
    assert word_of(Care(care="sung_to"), own) == "sung to softly"


def test_marks_keep_order_lane_weight_and_flags() -> None:
    entries = [
        noted(a_wheel()),
        noted(weighed(2_500, tare_g=500), 1, flags=("heavier",)),
        noted(turned(text="sticky"), 2),
    ]
    marks = timeline(entries, [LossPoint(day(1), 2_000, 3.5, False, entries[1].id)])
    assert [(m.lane, m.word, m.weight_g, m.loss_pct, m.text) for m in marks] == [
        ("weighing", "weighed", 2_000, 3.5, ""),
        ("care", "turned", None, None, "sticky"),
    ]
    assert marks[0].flags == ("heavier than before; was it wet, or on its board?",)
    assert timeline(entries[:2])[0].weight_g == 2_000


def test_a_wheels_own_sheet_is_a_mark_only_when_something_was_written_with_it() -> None:
    assert timeline([noted(a_wheel(text="made in a storm"))])[0].text == "made in a storm"


def test_every_lane_is_of_a_kind_that_exists() -> None:
    assert set(LANES) <= set(ENTRY_KINDS)
    assert len(BODY.json_schema()["oneOf"]) == len(ENTRY_KINDS)
