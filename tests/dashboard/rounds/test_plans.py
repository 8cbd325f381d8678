"""A care plan read back from its form: unchanged it says nothing, and what cannot be is refused by its field."""

from datetime import UTC, datetime

import pytest

from collector.errors import EntryRefused
from dashboard.household import Household
from dashboard.rounds.plans import changed, texts_of
from dashboard.rounds.typed import Asked
from dashboard.wheels.bodies.sheets import StyleSheet
from dashboard.wheels.kinds.care import CARE_KINDS, PLANNED
from dashboard.wheels.kinds.styles import STYLES

CARES = {**{name: kind.word for name, kind in CARE_KINDS.items()}, **PLANNED}
TOMME = STYLES["tomme"]


def asked(**texts: str) -> Asked:
    plain = {name.replace("_at_", "-"): text for name, text in texts.items()}
    return Asked({**texts_of(TOMME, Household()), **plain}, Household(), datetime(2026, 3, 12, tzinfo=UTC))


@pytest.mark.parametrize("name", STYLES)
def test_every_style_kept_unchanged_says_nothing_new(name: str) -> None:
    sheet = STYLES[name]
    assert (
        changed(Asked(texts_of(sheet, Household()), Household(), datetime(2026, 3, 12, tzinfo=UTC)), sheet, CARES) == {}
    )


def test_a_line_is_changed_taken_out_and_added() -> None:
    found = changed(
        asked(every_at_0="2", care_at_1="", care_at_9="oiled", every_at_9="30", from_at_9="60"), TOMME, CARES
    )
    lines = StyleSheet(plan=found["plan"]).plan
    assert set(found) == {"plan"}
    assert (lines[0].care, lines[0].every_d, lines[0].to_d) == ("turned", 2, 14)
    assert (lines[-1].care, lines[-1].every_d, lines[-1].from_d, lines[-1].to_d) == ("oiled", 30, 60, None)
    assert len(lines) == len(TOMME.plan)


def test_the_ripening_window_is_changed() -> None:
    assert changed(asked(ripe_from="90", ripe_to=""), TOMME, CARES) == {"ripe_from_d": 90, "ripe_to_d": None}


@pytest.mark.parametrize(
    ("texts", "field"),
    [
        ({"name": ""}, "name"),
        ({"rind": "furry"}, "rind"),
        ({"care_at_0": "sung to"}, "care-0"),
        ({"every_at_0": "0"}, "every-0"),
        ({"every_at_0": "often"}, "every-0"),
        ({"from_at_0": "20"}, "to-0"),
        ({"every_at_0": "4000"}, "every-0"),
        ({"ripe_from": "200"}, "ripe_to"),
    ],
)
def test_what_cannot_be_is_refused_by_its_field(texts: dict[str, str], field: str) -> None:
    with pytest.raises(EntryRefused) as refused:
        changed(asked(**texts), TOMME, CARES)
    assert refused.value.field == field
