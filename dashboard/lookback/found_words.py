"""What a look-back found, in words that are no stronger than the evidence; pure."""

from collections.abc import Callable
from dataclasses import dataclass
from math import floor

from dashboard.lookback.exposures import BY_NAME
from dashboard.lookback.found import EvidenceFound, Found, RankFound, Verdict
from dashboard.lookback.ranks import UNUSUAL

LEAST_KNOWN_SAID = 0.95  # our choice: of smaller gaps nothing is said
MOST_LINES = 4
OWN_TOO = 0.75  # our choice: what stands out over all times was so this time, if it was more than in three of four
Dated = Callable[[int], str]
"""A time [ms] as a date of the household."""
Warmth = Callable[[float], str]
"""A temperature [degC] in the household's unit."""

CANNOT_TELL: dict[Verdict, str] = {
    "refused": "This is not a question for the cave's air.",
    "no_air": "The readings cannot tell: nothing was measured where the wheel stood at that time.",
    "no_readings": "The readings cannot tell: there are no readings for {missing} of that time.",
    "short": "The readings cannot tell yet: the record is too short to say what is usual.",
    "ordinary": "The readings cannot tell: nothing in the air before it was unusual.",
}
CARES = {"turned": "turned", "looked": "looked at", "washed": "washed"}


@dataclass(frozen=True, slots=True)
class Speech:
    """How a household writes its dates and temperatures."""

    date: Dated
    warmth: Warmth


def headline(found: Found, noted: str) -> str:
    """The answer in a sentence; `noted` is the rind note's word."""
    if found.verdict in CANNOT_TELL:
        return CANNOT_TELL[found.verdict].format(missing=percent(1 - found.known))
    first = _first(found)
    if found.verdict == "stands_out" and found.evidence is not None:
        return _over_all(found, found.evidence, noted)
    if first is not None and first.share >= UNUSUAL:
        return f"{_capital(_what(first.name, found, first.side))}: that was unusual before this. It proves nothing yet."
    return CANNOT_TELL["ordinary"]


def _over_all(found: Found, weighed: EvidenceFound, noted: str) -> str:
    """What stands out over all times, and whether it was so this time as well."""
    what = f"{_capital(_what(weighed.names[0], found))}: that stands out over the {weighed.episodes} times of {noted}"
    own = next((one for one in found.ranks if one.name == weighed.names[0]), None)
    if own is None or own.side == "less" or own.share < OWN_TOO:
        return f"{what}, but this time the air was not so; something else may be behind it."
    return f"{what}, this one among them."


def _first(found: Found) -> RankFound | None:
    return found.ranks[0] if found.ranks else None


def _what(name: str, found: Found, side: str = "more") -> str:
    """An exposure in a few words: "too damp for a tomme"."""
    row = BY_NAME[name]
    if name == "mean_deficit_pa":
        return "air that took less water than usual" if side == "less" else "air that took more water than usual"
    if name in {"too_damp_h", "too_dry_h", "too_warm_h"}:
        return f"{row.word} {for_whom(found)}"
    return row.word


def for_whom(found: Found) -> str:
    """Whose limits were taken: "for a tomme", "for this place's target"."""
    return f"for {_a(found.style)}" if found.style else "for this place's target"


def _a(word: str) -> str:
    return f"{'an' if word[:1].lower() in 'aeiou' else 'a'} {word}"


def rank_line(one: RankFound, found: Found) -> str:
    """One exposure: "too damp for a tomme for 61 h; in your usual 10 days 4 h; more than in 98 of 100 stretches"."""
    unit, days = BY_NAME[one.name].unit, f"{(found.to_ms - found.from_ms) / 86_400_000:.0f} days"
    what = _capital(_plain(one.name, found))
    return (
        f"{what}{_joint(one.name)} {amount(one.value, unit)}; in your usual {days} {amount(one.usual, unit)}; "
        f"{stretches_words(one)}."
    )


def _plain(name: str, found: Found) -> str:
    return BY_NAME[name].word if name == "mean_deficit_pa" else _what(name, found)


def _joint(name: str) -> str:
    return " for" if BY_NAME[name].over == "sum" else ":"


def stretches_words(one: RankFound) -> str:
    """ "more than in 98 of 100 stretches": a rank, and called so."""
    of_100 = min(99, max(0, floor(100 * one.share)))
    if of_100 < 1:
        return "no stretch had less" if one.side == "more" else "no stretch had more"
    return f"{one.side} than in {of_100} of 100 stretches"


def amount(value: float, unit: str) -> str:
    """An exposure's amount with its unit."""
    if unit == "h":
        return f"{value:.0f} h" if value >= 10 or value == 0 else f"{value:.1f} h"
    return f"{value:.0f} Pa" if unit == "Pa" else f"{value:.1f} points"


def lines(found: Found) -> tuple[str, ...]:
    """The most unusual exposures, before them what the headline names, then what all times together say."""
    unusual = [one for one in found.ranks if one.share >= UNUSUAL][:MOST_LINES] or list(found.ranks[:2])
    named = found.evidence.names[0] if found.verdict == "stands_out" and found.evidence is not None else ""
    shown = [one for one in found.ranks if one.name == named] + [one for one in unusual if one.name != named]
    said = [rank_line(one, found) for one in shown] if found.verdict not in {"no_readings", "short"} else []
    return (*said, *evidence_lines(found))


def evidence_lines(found: Found) -> tuple[str, ...]:
    """What all episodes of the kind say, with how often chance would do as much."""
    weighed = found.evidence
    if found.verdict in {"refused", "no_air"}:
        return ()
    if weighed is None or weighed.episodes < 3:
        times = "once" if found.cases <= 1 else f"{found.cases} times"
        return (f"Seen {times} so far: from three times on they can be weighed together. Until then this is a rank.",)
    verb = "stands out" if weighed.stands_out else "does not stand out"
    first = _what(weighed.names[0], found)
    said = (
        f"Over {weighed.episodes} times, seen on {weighed.wheels} wheels, {first} comes first and {verb}: with the "
        f"times laid elsewhere in the record, something would come out as strong in {chance(weighed)}."
    )
    if weighed.together:
        said += " The times lie close together, so they were also moved all together: a season they share is no cause."
    return (said,)


def chance(weighed: EvidenceFound) -> str:
    """How often chance would do as much: "1 of 1000", "9 of 100"."""
    return "1 of 1000 cases or fewer" if weighed.p <= 0.001 else f"{100 * weighed.p:.2g} of 100 cases"


def compared_with(found: Found) -> str:
    """What the window was held against."""
    if not found.record_d:
        return ""
    parted = f"{found.apart} stretches of that length that do not overlap"
    if found.season:
        return f"Compared with every {found.season} on record here: {parted}."
    months = max(1, round(found.record_d / 30.4))
    record = f"the last {months} months" if months > 1 else "the last month"
    second = "there is no second year yet, so seasons cannot be told apart"
    return f"Compared with {record}, since {second}: {parted}."


def window_words(found: Found, speech: Speech) -> str:
    """Which time was looked at, and why."""
    clean = (
        f"It was last seen clean on {speech.date(found.clean_ms)} and"
        if found.clean_ms is not None
        else "Nobody wrote when it was last seen clean; it was"
    )
    return (
        f"{clean} first seen on {speech.date(found.seen_ms)}. Such notes show {found.short_d:g} to "
        f"{found.long_d:g} days after their cause (common practice, no source), so the air from "
        f"{speech.date(found.from_ms)} to {speech.date(found.to_ms)} was looked at."
    )


def doubts(found: Found, speech: Speech) -> tuple[str, ...]:
    """What makes the answer weaker, each in a sentence."""
    said = []
    if 0 < found.known < LEAST_KNOWN_SAID:
        said.append(f"There are no readings for {percent(1 - found.known)} of that time.")
    if found.hidden:
        said.append("The wheel was covered so that the air could not reach its rind.")
    if found.place and found.share_there < LEAST_KNOWN_SAID:
        said.append(
            f"It stood in {found.place} for only {percent(found.share_there)} of that time; the rest is left out."
        )
    if found.verdict not in {"refused", "no_air"}:
        said.append(_limits(found, speech))
    return tuple(said)


def _limits(found: Found, speech: Speech) -> str:
    damp, dry, warm = found.limits
    parts = [
        f"too damp is above {damp:g} %" if damp is not None else "",
        f"too dry below {dry:g} %" if dry is not None else "",
        f"too warm above {speech.warmth(warm)}" if warm is not None else "",
    ]
    told = ", ".join(filter(None, parts))
    return (
        f"{_capital(for_whom(found))} {told}." if told else "Nobody set limits, so too damp and too dry are left out."
    )


def care_line(care: str, longest_d: float, usual_d: float | None) -> str:
    """The longest time without a care: "Not turned for 9 days; usual here: 3 days."."""
    usual = f"; usual here: {_days(usual_d)}" if usual_d is not None else ""
    return f"At the longest not {CARES.get(care, care)} for {_days(longest_d)}{usual}."


def _days(value: float) -> str:
    return f"{value:.0f} day{'' if round(value) == 1 else 's'}"


def percent(share: float) -> str:
    return f"{100 * share:.0f} %"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
