"""A warning in the words of the page: whom it is about, what, how far, since when, where it is heading, what to do."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from collector.notify import facts
from collector.notify.advice import MARK, advice
from collector.notify.known import Known
from collector.notify.telling import is_known_over, now_says, was_says, word
from collector.quantity_words import guess_quantity
from collector.records.warnings import CaveWarning
from collector.rules.causes import cause_of
from collector.rules.place_rules import PLACE_RULES
from collector.rules.trust.causes import CAUSES, Cause, Line, cause
from dashboard import links_to
from dashboard.amounts import quantity_word

AROUND = timedelta(hours=12)  # of the chart, on either side
STATES = {"urgent": "bad", "warn": "watch", "note": "watch"}


@dataclass(frozen=True, slots=True)
class Told:
    """One warning as it is shown.

    Args:
        state: of parts/cards.html. says: whole sentences. likely, first: advice, each line with where it comes from.
        remark: how it was found, or that it was taken back; "" for nothing odd.
    """

    id: str
    subject: str
    subject_path: str
    chart_path: str
    state: str
    word: str
    says: tuple[str, ...]
    since_at: datetime
    until_at: datetime | None
    is_open: bool
    remark: str
    stands_in: str
    likely: tuple[Line, ...]
    first: tuple[Line, ...]
    seen_at: datetime | None
    seen_by: str
    judged: str
    judged_by: str
    rule: str
    withdrawn: bool = False


def told(warning: CaveWarning, known: Known, now_at: datetime) -> Told:
    """A warning in words; whatever is missing in it, what remains is said."""
    since_at = facts.since(warning)
    place_id = known.place_of(warning)
    until_at = warning.cleared_at or warning.withdrawn_at
    likely, first = _advice(warning)
    chart_end = min((until_at or now_at) + AROUND, now_at)
    return Told(
        id=warning.id,
        subject=known.subject(warning),
        subject_path=_subject_path(warning),
        chart_path=links_to.cave(place_id, since_at - AROUND, chart_end) if place_id else "",
        state=_state(warning),
        word=word(warning.rule) + _of_what(warning),
        says=tuple(sentence(said) for said in _says(warning, known)),
        since_at=since_at,
        until_at=until_at,
        is_open=warning.open,
        remark=_remark(warning),
        stands_in=known.stands_in.get(place_id or "", "") if warning.open else "",
        likely=likely,
        first=first,
        seen_at=warning.seen_at,
        seen_by=warning.seen_by or "",
        judged=warning.judged or "",
        judged_by=warning.judged_by or "",
        rule=warning.rule,
        withdrawn=warning.withdrawn_at is not None,
    )


def _state(warning: CaveWarning) -> str:
    if warning.open:
        return STATES.get(warning.severity, "watch")
    return "good" if is_known_over(warning) else "unknown"


def _of_what(warning: CaveWarning) -> str:
    """Which of its values a probe's fault is about, so that two faults of one probe are told apart."""
    measured = quantity_word(guess_quantity(warning.field)) if warning.field else ""
    return f" ({measured})" if measured and warning.rule != "battery_low" else ""


def _subject_path(warning: CaveWarning) -> str:
    if warning.place_id is not None:
        return links_to.cave(warning.place_id)
    return links_to.probe(warning.probe) if warning.probe is not None else ""


def _says(warning: CaveWarning, known: Known) -> Sequence[str]:
    return now_says(warning, known) if warning.open else was_says(warning, known)


def _remark(warning: CaveWarning) -> str:
    if warning.withdrawn_at is not None:
        return "Taken back: readings that came later show that it was no alarm."
    if warning.cleared_at is not None and not is_known_over(warning):
        return "Nobody knows whether it is over."
    if warning.found_late and warning.cleared_at is not None and warning.found_at > warning.cleared_at:
        return "Found afterwards: its readings came when it was already over, so nobody was told."
    return "Found late: its readings came long after they were taken." if warning.found_late else ""


def _advice(warning: CaveWarning) -> tuple[tuple[Line, ...], tuple[Line, ...]]:
    """What usually causes it and what to try first, each line with its source."""
    found = _cause(warning)
    if found is not None:
        return found.likely, found.first
    one = advice(warning)
    return _lines(one.likely), _lines(one.first)


def _cause(warning: CaveWarning) -> Cause | None:
    """The row of a rule about a probe or a place; None for the others, and for facts that name no row."""
    if warning.rule in CAUSES:
        return cause(warning.rule, facts.text(warning.facts, "kind") or None)
    try:
        return cause_of(warning.rule, warning.facts) if warning.rule in PLACE_RULES else None
    except (KeyError, TypeError):
        return None


def _lines(text: str) -> tuple[Line, ...]:
    return (Line(sentence(text), MARK),) if text else ()


def sentence(text: str) -> str:
    """The text with a capital and a full stop."""
    text = text.strip()
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "?", "!")) else ".") if text else ""
