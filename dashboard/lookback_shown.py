"""A look-back as the page, the file and the command line show it: words, strips, drawings."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import groupby

from collector.records.columns import from_ms
from dashboard import words
from dashboard.charts.lookback_chart import LEAST_SPAN, Panel, panel
from dashboard.charts.strip import Strip, scale, strip
from dashboard.household import Household
from dashboard.lookback import found_words
from dashboard.lookback.exposures import BY_NAME
from dashboard.lookback.found import Found, Like, RankFound
from dashboard.lookback.found_words import Speech
from dashboard.rounds.row_words import rind_word
from dashboard.rounds.shelves import Looked
from dashboard.wheels_shown.vat_square import VatShown

MOST_NOTES = 6


@dataclass(frozen=True, slots=True)
class StripShown:
    """One exposure: its name, its amounts in words, and the window among the usual ones."""

    title: str
    words: str
    strip: Strip


@dataclass(frozen=True, slots=True)
class LikeShown:
    """A spell of like air and what happened then."""

    when: str
    words: str


@dataclass(frozen=True, slots=True)
class LookBackShown:
    """All that is shown.

    Args:
        what: "Black spots on 26-02A". headline: the answer in a sentence. lines: why. doubts: what weakens it.
        window, compared: which time was looked at, and what it was held against.
        clean: wheels that shared the air and stayed clean, "" for none.
        humidity, temperature: drawings, None where nothing is known. days: the same in numbers.
    """

    what: str
    headline: str
    lines: tuple[str, ...]
    doubts: tuple[str, ...]
    window: str
    compared: str
    clean: str
    humidity: Panel | None
    temperature: Panel | None
    days: tuple[tuple[str, str, str], ...]
    strips: tuple[StripShown, ...]
    care: tuple[str, ...]
    likes: tuple[LikeShown, ...]


def speech(household: Household) -> Speech:
    """How a household writes dates and temperatures."""
    return Speech(
        lambda ms: words.short_date(from_ms(ms), household), lambda c: words.temperature(c, household, digits=0)
    )


def shown(found: Found, square: VatShown, looked: Looked) -> LookBackShown:
    """A look-back in words and drawings."""
    said, noted = speech(looked.household), rind_word(found.kind, looked.own)
    ranked = found.ranks if found.verdict not in {"no_readings", "short"} else ()
    return LookBackShown(
        what=_capital(f"{noted} on {found.code or 'a wheel'}"),
        headline=found_words.headline(found, noted),
        lines=found_words.lines(found),
        doubts=found_words.doubts(found, said),
        window=found_words.window_words(found, said),
        compared=found_words.compared_with(found),
        clean=clean_words(square),
        humidity=_humidity(found, said),
        temperature=_temperature(found, looked.household, said),
        days=tuple(_days(found, looked.household)),
        strips=tuple(_strip(one) for one in ranked),
        care=tuple(found_words.care_line(c.care, c.longest_d, c.usual_d) for c in found.care),
        likes=tuple(_like(one, looked, said) for one in found.likes),
    )


def clean_words(square: VatShown) -> str:
    """The wheels that stood in the same air and stayed clean, by name; they argue against the air."""
    if square.square is None:
        return ""
    clean = ", ".join(filter(None, (square.square.same_both.clean, square.square.same_place.clean)))
    return f"In the same place at that time, looked at since, and clean: {clean}." if clean else ""


def _strip(one: RankFound) -> StripShown:
    row = BY_NAME[one.name]
    amounts = f"{found_words.amount(one.value, row.unit)}, usually {found_words.amount(one.usual, row.unit)}"
    ends = scale((one.low, one.high), (one.value,))
    edges = (found_words.amount(one.low, row.unit), found_words.amount(one.high, row.unit))
    edges = edges if one.high > one.low else (edges[0], "")
    title = _capital(row.word)
    told = f"{amounts}; {found_words.stretches_words(one)}"
    drawn = strip(f"{title}: {told}", ends, (one.low, one.high), edges, now=one.value)
    return StripShown(title, told, drawn)


def _humidity(found: Found, said: Speech) -> Panel | None:
    damp, dry, _ = found.limits
    label = (
        f"Humidity about the time from {said.date(found.from_ms)} to {said.date(found.to_ms)}; the numbers are below."
    )
    return panel(
        label, found.course.start_ms, found.course.humidity_pct, (found.from_ms, found.to_ms), (dry, damp),
        LEAST_SPAN["humidity"], lambda v: f"{v:.0f} %", said.date,
    )  # fmt: skip


def _temperature(found: Found, household: Household, said: Speech) -> Panel | None:
    label = f"Temperature from {said.date(found.from_ms)} to {said.date(found.to_ms)}; the numbers are below."
    return panel(
        label, found.course.start_ms, found.course.temperature_c, (found.from_ms, found.to_ms),
        (None, found.limits[2]), LEAST_SPAN["temperature"],
        lambda v: words.temperature_number(v, household, digits=0) + "°", said.date,
    )  # fmt: skip


def _days(found: Found, household: Household) -> Sequence[tuple[str, str, str]]:
    course = found.course
    hours = zip(course.start_ms, course.humidity_pct, course.temperature_c, strict=True)
    rows = []
    for _, own in groupby(hours, key=lambda hour: words.local(from_ms(hour[0]), household).date()):
        day = list(own)
        humidity = _range([h for _, h, _ in day if h is not None], lambda v: f"{v:.0f}", " %")
        warmth = _range([t for _, _, t in day if t is not None], lambda v: words.temperature_number(v, household), "°")
        rows.append((words.short_date(from_ms(day[0][0]), household), humidity, warmth))
    return rows


def _range(values: Sequence[float], written: Callable[[float], str], unit: str) -> str:
    return f"{written(min(values))} to {written(max(values))}{unit}" if values else "no readings"


def _like(one: Like, looked: Looked, said: Speech) -> LikeShown:
    wheels = f"{one.wheels} wheel{'' if one.wheels == 1 else 's'} stood in it"
    noted = [f"{rind_word(n.kind, looked.own)} on {n.code or 'a wheel'}" for n in one.notes]
    more = f" and {len(noted) - MOST_NOTES} more" if len(noted) > MOST_NOTES else ""
    told = "; ".join(noted[:MOST_NOTES]) + more if noted else "nothing was noted afterwards"
    when = f"{said.date(one.from_ms)} to {said.date(one.to_ms)}"
    return LikeShown(when, f"{_capital(wheels)}: {told}." if one.wheels else "No wheel stood in it then.")


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
