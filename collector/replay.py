"""What would have been warned of: judges a span of the past again, as it was or under another target."""

from collections.abc import Iterable, Mapping
from dataclasses import replace

from collector.air.model import STEP_MS
from collector.air.read import AirReader
from collector.judging import Judge, judge_span
from collector.records.facts import Facts, Target
from collector.records.places import LONG_AGO
from collector.rules.model import PlaceRule, Verdict
from collector.rules.place_rules import PLACE_RULES
from collector.situations import PlaceSituations

Replayed = Mapping[str, list[Verdict]]
# Judging begins so long before the span, so that a spell which was open at its start is met where it began: our choice,
# a spell older than that is told as if it had opened a week before.
EARLIER_MS = 7 * 86_400_000


def what_if(
    reader: AirReader,
    place_id: str,
    target: Target | None,
    from_ms: int,
    to_ms: int,
    rules: Iterable[PlaceRule] = tuple(PLACE_RULES.values()),
) -> Replayed:
    """The spells that rules find in a place's air within a span.

    Args:
        reader: answers for the air, with the doubts and the facts to judge by. Nothing is written.
        place_id: a known place.
        target: taken as if it had always held there; None: the targets as they were.
        from_ms, to_ms: the span [ms since 1970 UTC]; a spell may have begun before it and last beyond it.
        rules: which.
    Returns:
        Verdicts by rule that overlap the span, in order of time; a rule that found nothing has an empty list.
    Raises:
        KeyError: a place that the facts do not know.
    """
    asked = reader if target is None else replace(reader, facts=_always(reader.facts, place_id, target))
    start, end = from_ms // STEP_MS * STEP_MS, to_ms // STEP_MS * STEP_MS
    chosen = tuple(rules)
    # With the longest memory for all of them, what they see is gathered once.
    seen = PlaceSituations(asked, place_id, max((rule.memory_ms for rule in chosen), default=0))
    return {rule.name: _spells(seen, rule, start, end) for rule in chosen}


def _always(facts: Facts, place_id: str, target: Target) -> Facts:
    """The facts, but for a target that held from the very beginning."""
    own = replace(target, place_id=place_id, valid_from_at=LONG_AGO, known_from_at=LONG_AGO, replaces=None)
    return replace(facts, targets={**facts.targets, place_id: [own]})


def _spells(seen: PlaceSituations, rule: PlaceRule, start_ms: int, end_ms: int) -> list[Verdict]:
    judge = _judge(seen, rule)
    spells, _ = judge_span(judge, None, start_ms - EARLIER_MS, end_ms, end_ms, lambda _at: False)
    return [spell for spell in spells if spell.cleared_ms is None or spell.cleared_ms > start_ms]


def _judge(seen: PlaceSituations, rule: PlaceRule) -> Judge:
    return lambda start, end, carried: rule.judge(seen.at(start, end), carried)


def lasted_ms(verdict: Verdict, end_ms: int) -> int:
    """How long a spell lasted by the end of the span [ms], the time before it counted included."""
    since = min(int(verdict.facts.get("since_ms", verdict.opened_ms)), verdict.opened_ms)
    return (end_ms if verdict.cleared_ms is None else verdict.cleared_ms) - since
