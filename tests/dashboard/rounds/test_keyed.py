"""A printed round keyed in: all at one time, whole shelves with exceptions, weights and notes beside."""

import pytest
from sqlalchemy import Engine

from collector.errors import EntryRefused
from collector.records.columns import new_id
from collector.records.engine import reading
from dashboard.household import Household
from dashboard.rounds.choices import known
from dashboard.rounds.entering import sheet_of
from dashboard.rounds.keyed import keyed_entries
from dashboard.rounds.shelves import round_of
from dashboard.rounds.typed import Asked
from dashboard.wheels.entries import NewEntry
from tests.browser.rounds.cellar import Cellar
from tests.dashboard.conftest import NOW_AT


def keyed(engine: Engine, **texts: str) -> list[NewEntry]:
    said = Asked({"seed": new_id(), "when": "2026-03-12T08:00", "unit": "g", **texts}, Household(), NOW_AT)
    with reading(engine) as db:
        shelves = round_of(db, NOW_AT, Household()).shelves
        return keyed_entries(shelves, said, sheet_of(said), known(db))


def test_a_whole_shelf_but_one_was_turned_and_clean_at_eight(engine: Engine, cellar: Cellar) -> None:
    one = cellar.wheels["24-02"]
    found = keyed(engine, **{f"all-{cellar.shelves[0]}": "yes", f"not-{one}": "yes"})
    assert {entry.wheel_id for entry in found} == {cellar.wheels["24-01"], cellar.wheels["24-03"]}
    assert {(entry.kind, f"{entry.done_at:%H:%M}", entry.typed_time) for entry in found} == {("care", "08:00", True)}
    assert all(entry.body.nothing_new for entry in found)  # type: ignore[attr-defined]
    assert len({entry.group_id for entry in found}) == 1


def test_marks_of_one_wheel_are_kept_singly(engine: Engine, cellar: Cellar) -> None:
    one = cellar.wheels["24-01"]
    found = keyed(engine, **{
        f"clean-{one}": "yes", f"weight-{one}": "2870", f"note-{one}": "Crack", f"words-{one}": "by the edge",
    })  # fmt: skip
    assert [entry.kind for entry in found] == ["looked", "weighing", "rind_note"]
    note = found[2].body.model_dump()
    assert (note["note"], note["text"]) == ("crack", "by the edge")


def test_one_new_word_on_two_wheels_is_one_word(engine: Engine, cellar: Cellar) -> None:
    found = keyed(engine, **{f"note-{cellar.wheels[code]}": "moon craters" for code in ("24-01", "24-02")})
    words = [entry for entry in found if entry.kind == "own_kind"]
    assert len(words) == 2
    assert words[0].id == words[1].id
    assert words[0].body == words[1].body


def test_chores_are_keyed_in_too(engine: Engine, cellar: Cellar) -> None:
    found = keyed(engine, **{f"chore-{cellar.cave}-tray_emptied": "yes"})
    assert [(entry.kind, entry.place_id) for entry in found] == [("chore", cellar.cave)]


def test_a_weight_that_cannot_be_read_is_said_by_its_wheel(engine: Engine, cellar: Cellar) -> None:
    one = cellar.wheels["24-03"]
    with pytest.raises(EntryRefused, match=r"^24-03: ") as refused:
        keyed(engine, **{f"weight-{one}": "heavy"})
    assert refused.value.field == f"weight-{one}"


def test_nothing_ticked_is_nothing(engine: Engine, cellar: Cellar) -> None:
    assert keyed(engine) == []
