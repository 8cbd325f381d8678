"""The words of messages: right when everything is known, and true when nothing is."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.notify.household import Household
from collector.notify.known import Known
from collector.notify.words import LONGEST_BODY, LONGEST_TITLE, Part, compose
from collector.records.columns import to_ms
from collector.rules.place_rules import PLACE_RULES
from collector.rules.trust import BY_NAME as CHANNEL_RULES
from collector.vigilance.rules import VIGIL_RULES
from tests.collector.notify.builders import NOON, a_warning

KNOWN = Known(
    Household("Europe/Berlin"),
    place_names={"lower": "Lower fridge", "cellar": "Cellar"},
    probe_names={"sht-1": "top shelf"},
    probe_places={"sht-1": "lower"},
    stands_in={"lower": "6 washed, 3 tommes"},
)
AMERICAN = Known(Household("America/Denver", "F", "month-day"), place_names={"lower": "Lower fridge"})


def opened(*warnings: Any, known: Known = KNOWN, now: datetime = NOON) -> tuple[str, str]:
    words = compose([Part(one, "opened") for one in warnings], known, now)
    return words.title, words.body


def test_a_drift_says_place_how_far_since_when_for_whom_and_what_to_try() -> None:
    title, body = opened(a_warning())
    assert title == "Lower fridge: too warm"
    assert body == (
        "14.8 °C over the last hour, wanted: at most 14.0 °C. Still rising, 0.4 °C an hour. Since 11:00 (2 h).\n"
        "In it: 6 washed, 3 tommes.\n"
        "Often: the door not quite shut, or the cooler iced up or off. "
        "Try first: look at the door and listen to the cooler (common practice)."
    )


def test_a_household_in_fahrenheit_reads_fahrenheit_and_its_own_clock() -> None:
    _, body = opened(a_warning(), known=AMERICAN)
    # 14.8 degC = 58.6 degF, 14 degC = 57.2 degF, 0.4 K = 0.7 degF (x 9/5, + 32: NIST SP 811 appendix B.8).
    assert body.startswith(
        "58.6 °F over the last hour, wanted: at most 57.2 °F. Still rising, 0.7 °F an hour. Since 4:00 am (2 h)."
    )


def test_a_humidity_is_told_in_percent() -> None:
    facts = {"quantity": "humidity", "unit": "%RH", "side": "low", "limit": 85.0, "last": 78.4, "heading": "steady"}
    _, body = opened(a_warning("too_dry", facts=facts))
    assert body.startswith("78 % over the last hour, wanted: at least 85 %. Holding steady.")


@pytest.mark.parametrize(
    ("heading", "says"), [("back", "On its way back."), ("steady", "Holding steady."), ("unknown", "")]
)
def test_where_it_is_heading(heading: str, says: str) -> None:
    _, body = opened(a_warning(facts={"quantity": "temperature", "unit": "Cel", "heading": heading}))
    assert body.startswith(says)


def test_an_all_clear_says_how_long_and_how_bad() -> None:
    over = a_warning(cleared_at=NOON + timedelta(hours=1, minutes=30))
    words = compose([Part(over, "cleared")], KNOWN, NOON + timedelta(hours=2))
    assert words.title == "Lower fridge: all right again"
    assert words.body == (
        "Too warm for 3 h 30 min (11:00 to 14:30). 15.2 °C at worst, wanted: at most 14.0 °C. 14.8 °C at the end."
    )


def test_an_end_that_nobody_saw_is_not_called_all_right() -> None:
    lost = a_warning(facts={"quantity": "temperature", "ended": "lost"}, cleared_at=NOON + timedelta(hours=24))
    words = compose([Part(lost, "cleared")], KNOWN, NOON + timedelta(hours=24))
    assert words.title == "Lower fridge: no longer too warm, as far as known"
    assert "nobody knows whether it is over" in words.body


def test_a_correction_says_that_nothing_was_wrong() -> None:
    words = compose([Part(a_warning(withdrawn_at=NOON), "withdrawn")], KNOWN, NOON + timedelta(hours=2))
    assert words.title == "Lower fridge: it was no alarm"
    assert words.body == ("What was said at 13:00 (too warm) does not hold: readings that came later show otherwise.")


def test_problems_of_one_place_stand_under_its_name() -> None:
    title, body = opened(a_warning(), a_warning("too_damp", facts={}), a_warning("stuck", None, "sht-1", facts={}))
    assert title == "Lower fridge: too warm, too damp and says the same number all the time"
    assert body.splitlines()[0].startswith("Too warm: 14.8 °C")
    assert body.splitlines()[2].startswith("Probe top shelf (Lower fridge): Says the same number all the time")


def test_silent_probes_are_counted() -> None:
    silent = [a_warning("probe_silent", None, f"p{n}", facts={"usual_s": 60.0}) for n in range(3)]
    title, body = opened(*silent)
    assert title == "3 probes silent"
    assert body.splitlines()[0] == (
        "Probe p0: Silent: Last heard 11:00; it usually speaks every 1 min. Since 11:00 (2 h)."
    )


def test_a_long_list_is_cut_with_a_count() -> None:
    _, body = opened(*[a_warning(place_id=f"p{n}", facts={}) for n in range(12)])
    assert "And 4 more." in body


def test_an_outage_tells_how_each_place_took_it() -> None:
    """The example of the job: one message after a power cut."""
    at = datetime(2026, 3, 12, tzinfo=UTC)

    def ms(hour: int, minute: int) -> int:
        return to_ms(at + timedelta(hours=hour - 1, minutes=minute))

    places = [
        {"place_id": "lower", "back_c": 9.8, "last_c": 9.1, "course": "cooling", "turned_ms": ms(5, 52)},
        {"place_id": "cellar", "back_c": 11.0, "last_c": 11.1, "course": "steady", "turned_ms": None},
    ]
    facts = {"from_ms": ms(2, 10), "to_ms": ms(5, 40), "caught_up": False, "places": places, "since_ms": ms(2, 10)}
    over = a_warning(
        "nothing_heard", None, opened_at=at + timedelta(hours=1, minutes=10), since_min=0, facts=facts,
        cleared_at=at + timedelta(hours=4, minutes=40),
    )  # fmt: skip
    words = compose([Part(over, "opened")], KNOWN, at + timedelta(hours=5, minutes=10))
    assert words.title == "rindwatch: probes are heard again"
    assert words.body == (
        "Nothing heard 02:10 to 05:40 (power or network). Lower fridge came back at 9.8 °C, "
        "cooling again since 05:52. Cellar came back at 11.0 °C, steady."
    )


def test_a_probes_fault_is_told_as_the_probes() -> None:
    facts = {"value": 84.2, "standing_h": 9.5, "others_moved": 6.0}
    title, body = opened(a_warning("stuck", None, "sht-1", facts=facts, field="humidity"))
    assert title == "Probe top shelf (Lower fridge): says the same number all the time"
    assert body.startswith(
        "Its humidity has stood at 84 % for 9 h 30 min. The probes beside it moved by 6.0 % meanwhile."
    )


def test_a_cooler_that_changed_is_told_beside_what_is_usual() -> None:
    facts = {
        "what": ["works_more", "longer"], "usual": {"duty": 0.41, "length_min": 11.2},
        "now": {"duty": 0.62, "length_min": 18.4},
    }  # fmt: skip
    _, body = opened(a_warning("cooler_changed", facts=facts))
    assert body.startswith(
        "It cools 62 % of the time, usually 41 %. It cools 18 min at a time, usually 11 min. Since 11:00 (2 h)."
    )


def test_it_is_said_how_often_a_problem_came_back() -> None:
    warm = a_warning()
    _, body = opened(warm, known=KNOWN.with_times({warm.id: 3}))
    assert "It comes and goes, 3 times within a day." in body


def test_a_message_about_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one warning, got none"):
        compose([], KNOWN, NOON)


ODD = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=6,
)
NAMES = (
    "since_ms", "limit", "last", "worst", "mean", "side", "heading", "per_h", "quantity", "unit", "hours_to_limit",
    "hours_least", "hours_most", "level", "ended", "sure", "plate_like", "value", "standing_h", "others_moved",
    "times", "readings", "largest_leap", "apart_by", "against", "empty_ms", "kind", "by_s", "at_ms", "free_bytes",
    "days_left", "last_ms", "probes", "usual_s", "places", "from_ms", "to_ms", "caught_up", "moved",
    "what", "usual", "now",
)  # fmt: skip
RULES = (*PLACE_RULES, *CHANNEL_RULES, *VIGIL_RULES, "leaving", "a_rule_of_a_later_version", "")


@given(
    rule=st.sampled_from(RULES),
    facts=st.dictionaries(st.sampled_from(NAMES), ODD, max_size=12),
    said=st.sampled_from(["opened", "over", "cleared", "reopened", "withdrawn", "reminder"]),
    about=st.sampled_from([("lower", None), ("gone", None), (None, "sht-1"), (None, "unknown"), (None, None)]),
    over=st.booleans(),
    severity=st.sampled_from(["note", "warn", "urgent"]),
    many=st.booleans(),
)
def test_whatever_a_warning_holds_it_can_be_told(
    rule: str, facts: dict[str, Any], said: Any, about: tuple[str | None, str | None], over: bool, severity: str,
    many: bool,
) -> None:  # fmt: skip
    one = a_warning(
        rule,
        *about,
        since_min=0,
        facts=facts,
        severity=severity,
        cleared_at=NOON + timedelta(hours=1) if over else None,
    )
    for known in (KNOWN, AMERICAN, Known()):
        words = compose([Part(one, said)] * (2 if many else 1), known, NOON + timedelta(days=2))
        assert words.title.strip()
        assert words.body.strip()
        assert len(words.title) <= LONGEST_TITLE
        assert len(words.body) <= LONGEST_BODY
        assert "None" not in words.body
        assert "nan" not in words.body.lower().split()


@pytest.mark.parametrize("rule", sorted({*PLACE_RULES, *CHANNEL_RULES, *VIGIL_RULES}))
def test_every_rule_has_something_to_try(rule: str) -> None:
    _, body = opened(a_warning(rule, facts={}))
    assert "Try first:" in body
    assert "(common practice)" in body
