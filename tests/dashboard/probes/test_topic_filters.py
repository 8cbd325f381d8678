"""Topic filters. Rules and matching by MQTT 3.1.1 (OASIS, 2014), section 4.7; the judge of matching is paho's own
`topic_matches_sub`."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from paho.mqtt.client import topic_matches_sub

from collector.errors import EntryRefused
from dashboard.probes.topic_filters import checked, is_wide, matches


# The valid ones among the standard's own examples, sections 4.7.1.2 and 4.7.1.3 (without those that begin with $).
@pytest.mark.parametrize(
    "text", ["sport/tennis/player1/#", "sport/#", "#", "sport/tennis/#", "+", "+/tennis/#", "sport/+/player1"]
)
def test_the_standards_examples_are_filters(text: str) -> None:
    assert checked(f" {text} ") == text


# The invalid ones there, and what a broker keeps for itself.
@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("sport/tennis#", r"# stands alone, at the very end, after a slash; got tennis# in sport/tennis#"),
        ("sport/tennis/#/ranking", "# stands alone"),
        ("sport+", r"\+ stands alone between slashes; got sport\+ in sport\+"),
        ("$SYS/#", "are the broker's own"),
        ("$share/group/topic", "are the broker's own"),
        ("", "Type the topic"),
        ("a\x00b", "cannot be shown"),
        ("x" * 201, "at most 200 characters here; this has 201"),
        ("rindwatch/cellar-1/readings", "is heard already"),
        ("rindwatch/+/readings", "is heard already"),
    ],
)
def test_what_is_no_filter_is_named(text: str, said: str) -> None:
    with pytest.raises(EntryRefused, match=said) as refused:
        checked(text)
    assert refused.value.field == "filter"


@pytest.mark.parametrize(
    ("text", "wide"), [("#", True), ("+/#", True), ("+", True), ("shed/#", False), ("shed/+/air", False)]
)
def test_a_filter_that_hears_everything_is_told(text: str, wide: bool) -> None:
    assert is_wide(text) == wide


LEVELS = st.lists(st.sampled_from(["a", "b", "", "$SYS"]), min_size=1, max_size=4)
PATTERNS = st.lists(st.sampled_from(["a", "b", "", "+"]), min_size=1, max_size=4)


@given(PATTERNS, st.booleans(), LEVELS)
def test_matching_is_the_clients_own(pattern: list[str], open_end: bool, topic: list[str]) -> None:
    text = "/".join([*pattern, "#"] if open_end else pattern)
    if pattern[0] == "+" and topic[0].startswith("$"):
        return  # no filter of ours meets such a topic; the client leaves it out
    assert matches(text, "/".join(topic)) == topic_matches_sub(text, "/".join(topic))
