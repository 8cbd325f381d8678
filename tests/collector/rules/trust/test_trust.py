from collector.rules.model import Verdict
from collector.rules.trust import BY_NAME, CHANNEL_RULES, doubtful_spans
from collector.rules.trust.causes import CAUSES, PRACTICE, cause


def test_every_rule_has_its_row_and_its_causes() -> None:
    assert len(BY_NAME) == len(CHANNEL_RULES)
    assert {name.split("/")[0] for name in CAUSES} == set(BY_NAME)
    for rule in CHANNEL_RULES:
        assert cause(rule.name).likely
        assert cause(rule.name).first


def test_every_cause_names_where_it_comes_from() -> None:
    lines = [line for one in CAUSES.values() for line in one.likely + one.first]
    assert all(line.text.endswith(".") and line.source for line in lines)
    assert {line.source for line in lines} - {PRACTICE} == {"SHT20 and SHT4x data sheets", "DS18B20 data sheet"}


def test_a_kind_without_a_row_falls_back_to_its_rule() -> None:
    assert cause("impossible", "above") == cause("impossible")
    assert cause("impossible", "power_on") != cause("impossible")


def test_a_doubt_reaches_back_to_where_the_fault_began() -> None:
    stuck = Verdict("stuck", 5_000, 9_000, {"since_ms": 1_000})
    assert doubtful_spans([stuck], 20_000) == [(1_000, 9_000)]


def test_overlapping_doubts_are_one_span_and_notes_are_none() -> None:
    found = [
        Verdict("jumping", 8_000, 12_000, {"since_ms": 7_000}),
        Verdict("stuck", 5_000, 9_000, {"since_ms": 1_000}),
        Verdict("saturated", 100, None, {"since_ms": 100}),
        Verdict("impossible", 15_000, None),
    ]
    assert doubtful_spans(found, 20_000) == [(1_000, 12_000), (15_000, 20_000)]
