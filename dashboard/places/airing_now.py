"""Shall I open the door? Each cave's answer for the page: what it would do now, and the best hours to come."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

from collector.air.model import Air, Origin
from collector.records.columns import from_ms
from collector.records.facts import Target
from collector.rules.airing import Airing, AirNow, Want, advise
from collector.rules.airing_hours import AiringHour, best_hours, coming_hours
from collector.rules.trend import HOUR_MS
from dashboard import words
from dashboard.air_now import AirNow as PlaceAir
from dashboard.airing_words import COLDEST_C, WARMEST_C, in_words, wants
from dashboard.household import Household

WANT_WORDS: dict[Want, str] = {
    "drier": "drier air", "damper": "damper air", "cooler": "cooler air", "warmer": "warmer air",
}  # fmt: skip
WATER = ("drier", "damper")
MOST_HOURS = 6


@dataclass(frozen=True, slots=True)
class Outside:
    """The air outside, and the record of the last days where a probe keeps one; else why there are no best hours."""

    air: AirNow
    record: Air | None = None
    no_record: str = "The best hours need some days of a probe outside."


@dataclass(frozen=True, slots=True)
class Hours:
    """A stretch of good hours: from, to, and what they bring."""

    from_at: datetime
    to_at: datetime
    gain: str


@dataclass(frozen=True, slots=True)
class CaveAiring:
    """One cave's answer.

    Args:
        state: of parts/cards.html. line: the answer in one or two sentences.
        facts: head and words of each number behind it. wanted: what its target asks of its air.
        hours: the best stretches of the coming day. no_hours: why there are none.
    """

    name: str
    path: str
    type_path: str
    state: str
    line: str
    inside: str
    wanted: str
    facts: tuple[tuple[str, str], ...]
    hours: tuple[Hours, ...]
    no_hours: str


def known(air: PlaceAir) -> AirNow | None:
    """A place's air as the rule takes it; None unless both are measured now, and are what an air can be."""
    warm, damp = air.temperature_c, air.humidity_pct
    if warm.value is None or damp.value is None or max(warm.origin, damp.origin) > Origin.TYPED:
        return None
    if not COLDEST_C <= warm.value <= WARMEST_C or not 0 < damp.value <= 100:
        return None
    return AirNow(warm.value, damp.value, warm.uncertainty, damp.uncertainty)


@dataclass(frozen=True, slots=True)
class Cave:
    """What is known of a cave: its name, its ways, its air now, its target."""

    name: str
    path: str
    type_path: str
    air: PlaceAir
    target: Target | None


def cave_airing(cave: Cave, outside: Outside, chosen: Want | None, household: Household, now_ms: int) -> CaveAiring:
    """A cave's answer.

    Args:
        outside: the air outside now. chosen: what a person wants of it; None: what its target asks.
    """
    ours = known(cave.air)
    if ours is None:
        line = "Nothing is measured in it just now."
        return CaveAiring(cave.name, cave.path, cave.type_path, "unknown", line, "", "", (), (), "")
    surface = cave.air.surface_c.value if cave.air.surface_c is not None else None
    asked: tuple[Want, ...] = (chosen,) if chosen else wants(ours, cave.target)
    airing = advise(ours, outside.air, surface)
    hours, no_hours = _hours(ours, outside, asked, surface, now_ms, household)
    return CaveAiring(
        cave.name, cave.path, cave.type_path, _state(airing, asked), in_words(airing, asked),
        air_words(ours, household), _wanted(asked, chosen, cave.target), _facts(airing, household), hours, no_hours,
    )  # fmt: skip


def air_words(air: AirNow, household: Household) -> str:
    return f"{words.temperature(air.temperature_c, household)}, {words.humidity(air.humidity_pct, household)}"


def _state(airing: Airing, asked: tuple[Want, ...]) -> str:
    if airing.worth_it(asked):
        return "good"
    return "watch" if asked or airing.condenses_on else "unknown"


def _wanted(asked: Sequence[Want], chosen: Want | None, target: Target | None) -> str:
    if chosen:
        return f"You want {WANT_WORDS[chosen]}."
    if asked:
        return f"Its target wants {' and '.join(WANT_WORDS[want] for want in asked)}."
    if target is None or target.resting:
        return "Nothing is asked of its air."
    return "Its air is within its target."


def _facts(airing: Airing, household: Household) -> tuple[tuple[str, str], ...]:
    more = "more" if airing.water_g_m3 > 0 else "less"
    warmer = "warmer" if airing.change_k > 0 else "cooler"
    change = words.temperature_step(abs(airing.change_k), household)
    mixed = airing.mixed
    return (
        ("Water", f"{abs(airing.water_g_m3):.1f} ± {airing.water_u_g_m3:.1f} g {more} in each m³ outside"),
        ("Warmth", f"{change} {warmer} outside"),
        ("Dew point", f"{words.temperature(airing.inside_dew_c, household)} inside, "
                      f"{words.temperature(airing.outside_dew_c, household)} outside"),
        ("After some minutes", f"{words.temperature(mixed.temperature_c, household)}, "
                               f"{words.humidity(mixed.humidity_pct, household)}"),
        ("Once it has settled", f"{words.humidity(mixed.settled_pct, household)}"),
    )  # fmt: skip


def _hours(
    ours: AirNow,
    outside: Outside,
    asked: tuple[Want, ...],
    surface: float | None,
    now_ms: int,
    household: Household,
) -> tuple[tuple[Hours, ...], str]:
    """The best hours for the first thing that is wanted, or why none can be named."""
    if not asked:
        return (), ""
    if outside.record is None:
        return (), outside.no_record
    found = coming_hours(ours, outside.record, now_ms, asked[0], surface)
    if not found:
        return (), "The best hours need two days of a probe outside."
    best = best_hours(found, MOST_HOURS)
    if not best:
        return (), "No hour of the coming day helps, as the last days went."
    return tuple(_stretch(run, asked[0], household) for run in _runs(best)), ""


def _runs(hours: Sequence[AiringHour]) -> list[list[AiringHour]]:
    """Hours that follow on each other, together."""
    runs = [[hours[0]]]
    for before, after in pairwise(hours):
        if after.start_ms - before.start_ms == HOUR_MS:
            runs[-1].append(after)
        else:
            runs.append([after])
    return runs


def _stretch(run: Sequence[AiringHour], want: Want, household: Household) -> Hours:
    gain = max(hour.gain for hour in run)
    said = f"{gain:.1f} g/m³ {want}" if want in WATER else f"{words.temperature_step(gain, household)} {want}"
    return Hours(from_ms(run[0].start_ms), from_ms(run[-1].start_ms + HOUR_MS), said)
