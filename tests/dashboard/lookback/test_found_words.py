"""Words that are no stronger than the evidence."""

from dataclasses import replace

import pytest

from dashboard.lookback.found import FOUND, EvidenceFound, Found, RankFound
from dashboard.lookback.found_words import (
    Speech,
    care_line,
    compared_with,
    doubts,
    evidence_lines,
    headline,
    lines,
    rank_line,
    window_words,
)

DAY_MS = 86_400_000
SPEECH = Speech(lambda ms: f"day {ms // DAY_MS}", lambda c: f"{c:g} °C")
DAMP = RankFound("too_damp_h", 61.0, 4.0, 0.0, 40.0, 0.985, "more")


def a_found(**changes):
    blank = Found(
        verdict="ranked", kind="wet_sticky", wheel_id="w", code="W1", place="Lower fridge", share_there=1.0,
        hidden=False, from_ms=10 * DAY_MS, to_ms=20 * DAY_MS, clean_ms=14 * DAY_MS, seen_ms=20 * DAY_MS, short_d=0.0,
        long_d=4.0, style="washed rind", limits=(97.0, 92.0, 14.0), record_d=152.0, known=1.0, ranks=(DAMP,),
        others=500, apart=14, cases=1,
    )  # fmt: skip
    return replace(blank, **changes)


def weighed(p=0.001, **changes):
    blank = EvidenceFound(("too_damp_h", "swing_pct"), p, (p, 0.6), 4, 9, together=False, stands_out=p <= 0.04)
    return replace(blank, **changes)


def test_an_exposure_is_told_in_hours_beside_the_usual_and_as_a_rank():
    assert rank_line(DAMP, a_found()) == (
        "Too damp for a washed rind for 61 h; in your usual 10 days 4.0 h; more than in 98 of 100 stretches."
    )


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({}, "Too damp for a washed rind: that was unusual before this. It proves nothing yet."),
        ({"ranks": (replace(DAMP, share=0.8),)}, "The readings cannot tell: nothing in the air before it was unusual."),
        ({"verdict": "no_readings", "known": 0.6}, "there are no readings for 40 % of that time."),
        ({"verdict": "short"}, "The readings cannot tell yet"),
        ({"verdict": "no_air"}, "nothing was measured where the wheel stood"),
        ({"verdict": "refused"}, "This is not a question for the cave's air."),
        ({"style": ""}, "Too damp for this place's target"),
    ],
)
def test_the_headline_fits_the_evidence(changes, words):
    assert words in headline(a_found(**changes), "a wet rind")


def test_what_stands_out_over_all_times_says_whether_it_was_so_this_time():
    found = a_found(verdict="stands_out", evidence=weighed(), cases=4)
    assert headline(found, "a wet rind").endswith("over the 4 times of a wet rind, this one among them.")
    other = replace(found, ranks=(replace(DAMP, share=0.3),))
    assert "but this time the air was not so" in headline(other, "a wet rind")


def test_what_the_headline_names_is_told_in_numbers_before_what_else_was_unusual():
    swing = RankFound("swing_pct", 3.0, 1.0, 0.5, 2.0, 0.99, "more")
    usual_this_time = replace(DAMP, share=0.92)
    found = a_found(verdict="stands_out", evidence=weighed(), cases=4, ranks=(swing, usual_this_time))
    assert [line.partition(" for ")[0].partition(":")[0] for line in lines(found)[:2]] == [
        "Too damp", "Swing of humidity within three hours",
    ]  # fmt: skip
    assert lines(replace(found, verdict="ranked", evidence=None))[0].startswith("Swing")


def test_one_note_is_never_more_than_a_rank():
    assert "Until then this is a rank." in evidence_lines(a_found())[0]
    assert "stands out" not in " ".join(lines(a_found()))


def test_what_chance_would_do_is_said_with_the_test():
    (said,) = evidence_lines(a_found(evidence=weighed(0.09), verdict="not_more"))
    assert "does not stand out" in said
    assert "9 of 100 cases" in said
    (crowded,) = evidence_lines(a_found(evidence=weighed(together=True), verdict="stands_out"))
    assert "1 of 1000 cases or fewer" in crowded
    assert "a season they share is no cause" in crowded


def test_what_it_was_compared_with_is_said():
    assert compared_with(a_found()).startswith("Compared with the last 5 months, since there is no second year yet")
    assert compared_with(a_found(season="spring")).startswith("Compared with every spring on record here")
    assert compared_with(a_found(record_d=0.0)) == ""


def test_doubts_are_named():
    said = " ".join(doubts(a_found(known=0.8, hidden=True, share_there=0.7), SPEECH))
    assert "There are no readings for 20 % of that time." in said
    assert "the air could not reach its rind" in said
    assert "in Lower fridge for only 70 %" in said
    assert "For a washed rind too damp is above 97 %, too dry below 92 %, too warm above 14 °C." in said
    assert "Nobody set limits" in " ".join(doubts(a_found(limits=(None, None, None)), SPEECH))


def test_the_window_says_where_it_comes_from():
    said = window_words(a_found(), SPEECH)
    assert said.startswith("It was last seen clean on day 14 and first seen on day 20.")
    assert "common practice, no source" in said
    assert "the air from day 10 to day 20 was looked at" in said
    assert window_words(a_found(clean_ms=None), SPEECH).startswith(
        "Nobody wrote when it was last seen clean; it was first seen on day 20. "
    )


def test_care_is_told_beside_the_usual():
    assert care_line("turned", 9.2, 3.0) == "At the longest not turned for 9 days; usual here: 3 days."
    assert care_line("looked", 1.0, None) == "At the longest not looked at for 1 day."


def test_what_was_found_travels_as_json():
    found = a_found(evidence=weighed())
    assert FOUND.validate_json(FOUND.dump_json(found)) == found
