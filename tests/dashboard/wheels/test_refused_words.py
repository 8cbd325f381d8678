"""What a person reads of an entry that was not taken: trade words, and what to do."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dashboard.wheels.entry_kinds import BODY
from dashboard.wheels.refused_words import AGAIN, PARTS, refused_words


@pytest.mark.parametrize(
    ("kind", "field", "said"),
    [
        ("weighing", "body.weighing.scale_g", "This weighing: the weight cannot be kept as it stands."),
        ("weighing", "body.weighing", "This weighing cannot be kept as it stands."),
        ("care", "body.care", "This care cannot be kept as it stands."),
        ("care", "body.care.care", "This care: what was done cannot be kept as it stands."),
        ("care", "body.care.colour", "This care cannot be kept as it stands."),
        ("rind_note", "body.rind_note.photos.3", "This rind note: the photos cannot be kept as it stands."),
        ("care", "done_at", "This care: the time cannot be kept as it stands."),
        ("sung", "body", "This entry cannot be kept as it stands."),
        (["list"], "entry", "This entry cannot be kept as it stands."),
    ],
)
def test_what_was_refused_is_said_in_the_trades_words(kind: object, field: str, said: str) -> None:
    assert refused_words(kind, field) == f"{said} {AGAIN}"


@given(st.one_of(st.none(), st.text(), st.integers()), st.text())
def test_anything_gets_words_without_a_name_of_the_format(kind: object, field: str) -> None:
    assert "_" not in refused_words(kind, field)
    assert refused_words(kind, field).endswith(AGAIN)


def test_every_word_is_of_a_field_that_an_entry_has() -> None:
    fields = {name for part in BODY.json_schema()["$defs"].values() for name in part.get("properties", {})}
    refs = {"done_at", "sent_at", "wheel_id", "place_id", "gear_id", "style_id", "make_id"}
    assert set(PARTS) - refs <= fields
