"""The words of a message, short for a phone: place, what, how far, since when, where it is heading, what to try.

Pure and total: whatever is missing, what remains is said, and is true.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from collector.notify import facts
from collector.notify.advice import MARK, advice
from collector.notify.household import duration, moment, stretch
from collector.notify.known import Known
from collector.notify.telling import is_known_over, now_says, was_says, word
from collector.records.warnings import CaveWarning
from collector.vigilance.rules import VIGIL_RULES

LONGEST_TITLE = 90
LONGEST_BODY = 1_500  # characters; a push takes 3,993 bytes, and a phone shows far fewer
MOST_LINES = 8
MOMENT = timedelta(minutes=1)  # what lasts no longer happened once, and has no length

Said = Literal["opened", "over", "cleared", "reopened", "withdrawn", "reminder"]
NOT_OVER = "It was not over: readings that came later show it."


@dataclass(frozen=True, slots=True)
class Part:
    """One warning in a message, and what is said of it."""

    warning: CaveWarning
    said: Said

    @property
    def over(self) -> bool:
        return self.said in ("cleared", "over") or self.warning.cleared_at is not None


@dataclass(frozen=True, slots=True)
class Words:
    """Title and body of a message."""

    title: str
    body: str


def compose(parts: Sequence[Part], known: Known, now: datetime) -> Words:
    """The words for what a message speaks of.

    Args:
        parts: at least one; each warning as the records have it now.
        known: names and choices. now: the time at which it is read.
    Returns:
        Title of at most 90 and body of at most 1,500 characters.
    Raises:
        ValueError: no part.
    """
    if not parts:
        raise ValueError("a message must speak of at least one warning, got none")
    if len(parts) == 1:
        return _cut(_single(parts[0], known, now))
    return _cut(_several(parts, known, now))


def _cut(words: Words) -> Words:
    return Words(_shortened(words.title, LONGEST_TITLE), _shortened(words.body, LONGEST_BODY))


def _shortened(text: str, most: int) -> str:
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"


def _single(part: Part, known: Known, now: datetime) -> Words:
    subject = known.subject(part.warning)
    if part.said == "withdrawn":
        return Words(f"{subject}: it was no alarm", _correction(part.warning, known, now))
    if part.over:
        return Words(f"{subject}: {_over_title(part)}", _sentences([_over(part, known, now)]))
    urgent = "Urgent: " if part.warning.severity == "urgent" else ""
    still = {"reminder": "still ", "reopened": "not over, "}.get(part.said, "")
    before = NOT_OVER if part.said == "reopened" else ""
    lines = [before, _present(part.warning, known, now), *_who_suffers(part.warning, known), _to_do(part.warning)]
    return Words(f"{urgent}{subject}: {still}{word(part.warning.rule)}", "\n".join(line for line in lines if line))


def _over_title(part: Part) -> str:
    rule = VIGIL_RULES.get(part.warning.rule)
    if rule is not None:
        return rule.over
    if not is_known_over(part.warning):
        return f"no longer {word(part.warning.rule)}, as far as known"
    if part.said == "cleared":
        return "all right again"
    return f"was {word(part.warning.rule)}, all right again"


def _several(parts: Sequence[Part], known: Known, now: datetime) -> Words:
    subjects = list(dict.fromkeys(known.place_of(p.warning) or known.subject(p.warning) for p in parts))
    lines = [f"{_line_subject(p, known, len(subjects) > 1)}{_line(p, known, now)}" for p in parts[:MOST_LINES]]
    if len(parts) > MOST_LINES:
        lines.append(f"And {len(parts) - MOST_LINES} more.")
    going = [part for part in parts if not part.over and part.said != "withdrawn"]
    if going:
        lines.append(_to_do(going[0].warning))
    return Words(_several_title(parts, known, subjects), "\n".join(line for line in lines if line))


def _several_title(parts: Sequence[Part], known: Known, subjects: Sequence[str]) -> str:
    urgent = "Urgent: " if any(p.warning.severity == "urgent" and not p.over for p in parts) else ""
    if len(subjects) > 1:
        going = [part for part in parts if not part.over and part.said != "withdrawn"]
        silent = sum(part.warning.rule == "probe_silent" for part in parts)
        if silent == len(parts):
            return f"{silent} probes silent" if going else f"{silent} probes are back"
        if len(going) == 1:
            return f"{urgent}{known.subject(going[0].warning)}: {word(going[0].warning.rule)}"
        return f"{urgent}{len(going)} things to look at" if going else f"{len(parts)} things are all right again"
    name = known.place_names.get(subjects[0], subjects[0])
    if all(part.said == "withdrawn" for part in parts):
        return f"{name}: it was no alarm"
    if all(part.over or part.said == "withdrawn" for part in parts):
        return f"{name}: all right again"
    going_words = list(dict.fromkeys(word(p.warning.rule) for p in parts if not p.over and p.said != "withdrawn"))
    return f"{urgent}{name}: {_and(going_words)}"


def _and(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _line_subject(part: Part, known: Known, many: bool) -> str:
    if many or part.warning.place_id is None:
        return f"{known.subject(part.warning)}: "
    return ""


def _line(part: Part, known: Known, now: datetime) -> str:
    if part.said == "withdrawn":
        return _correction(part.warning, known, now)
    if part.over:
        return _sentences([_over(part, known, now)])
    before = f"{NOT_OVER} " if part.said == "reopened" else ""
    return before + _capital(word(part.warning.rule)) + ": " + _present(part.warning, known, now)


def _present(warning: CaveWarning, known: Known, now: datetime) -> str:
    since_at = facts.since(warning)
    long = duration((now - since_at).total_seconds())
    said = [*now_says(warning, known), f"since {moment(since_at, now, known.household)} ({long})"]
    times = known.times.get(warning.id, 1)
    if times > 1:
        said.append(f"it comes and goes, {times} times within a day")
    return _sentences(said)


def _over(part: Part, known: Known, now: datetime) -> str:
    """How long and how bad; what it was about is told in its own words where it has any."""
    warning = part.warning
    since_at, ended_at = facts.since(warning), warning.cleared_at or now
    long = duration((ended_at - since_at).total_seconds())
    when = stretch(since_at, ended_at, now, known.household)
    told, rule = was_says(warning, known), VIGIL_RULES.get(warning.rule)
    if told and rule is not None and (rule.settles or ended_at - since_at < MOMENT):
        return _sentences(told)
    return _sentences([f"{word(warning.rule)} for {long} ({when})", *told])


def _correction(warning: CaveWarning, known: Known, now: datetime) -> str:
    said_at = moment(warning.found_at, now, known.household)
    return f"What was said at {said_at} ({word(warning.rule)}) does not hold: readings that came later show otherwise."


def _who_suffers(warning: CaveWarning, known: Known) -> list[str]:
    stands = known.stands_in.get(warning.place_id or "")
    return [f"In it: {stands}."] if stands else []


def _to_do(warning: CaveWarning) -> str:
    told = advice(warning)
    said = [f"Often: {told.likely}" if told.likely else "", f"Try first: {told.first}" if told.first else ""]
    text = ". ".join(line for line in said if line)
    return f"{text} ({MARK})." if text else ""


def _sentences(said: Sequence[str]) -> str:
    return " ".join(f"{_capital(text.strip().rstrip('.'))}." for text in said if text.strip())


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
