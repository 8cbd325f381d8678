"""A whole look-back for one rind note: gathers, asks the pure core, and says what was found in plain numbers."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from collector.records.columns import to_ms
from dashboard.lookback.care_gaps import longest_gap_d, usual_gap_d
from dashboard.lookback.episodes import LEAST_EPISODES, MOST_EPISODES, Case, Evidence, episodes_of, evidence
from dashboard.lookback.exposures import EXPOSURES, Limits
from dashboard.lookback.found import CareFound, Course, EvidenceFound, Found, Like, NoteThen, RankFound, Verdict
from dashboard.lookback.leads import Lead, lead_of
from dashboard.lookback.ranks import Ranked, ranks
from dashboard.lookback.sightings import Sighting
from dashboard.lookback.similar import Spell, similar
from dashboard.lookback.trade_experience import refused_as_air
from dashboard.lookback.windows import DAY_MS, Stretches, Window, against, apart_from, stretches, window_before
from dashboard.lookback_read import Book, care_times, hourly, keeps_air_off, notes_between
from dashboard.wheels.kinds.rind import RIND_KINDS
from dashboard.wheels.vat_time import Bout, bout_of

LEAST_OWN_KNOWN = 0.6  # our choice: of less than that nothing is said of the window
MOST_WINDOWS = 60  # of those that do not overlap, for the usual care: more change no median
AFTER_D = 7  # our choice: a note that came a week later than such notes take is still told of


@dataclass(frozen=True, slots=True)
class Asked:
    """A bout, its window and where the wheel stood in it."""

    bout: Bout
    window: Window
    lead: Lead
    place_id: str
    covering: str
    share_there: float


@dataclass(frozen=True, slots=True)
class Compared:
    """A window's exposures and all others of its length in the place."""

    own: Stretches
    pool: Stretches
    rows: npt.NDArray[np.bool_]
    season: str
    record_d: float
    hidden: bool


def look_back(book: Book, note_id: str) -> Found | None:
    """The look-back of one rind note; None if there is no such note, or it was corrected or undone."""
    bout = bout_of(book.db, note_id, book.zone)
    if bout is None or bout.wheel_id not in book.wheels:
        return None
    asked = asked_of(book, bout)
    limits, style = book.limits(bout.wheel_id, asked.place_id, asked.window.to_ms)
    compared = compare(book, asked, limits)
    blank = _blank(book, asked, limits, style)
    if compared is None or refused_as_air(bout.kind):
        return replace(blank, verdict="refused" if refused_as_air(bout.kind) else "no_air", course=_course(book, asked))
    others = compared.rows & apart_from(compared.pool, asked.window)
    ranked = ranks(compared.own, compared.pool, others, names_for(bout.kind))
    weighed, cases, wheels = _evidence(book, bout.kind)
    known = float(compared.own.known[0])
    return replace(
        blank,
        verdict=_verdict(known, ranked, weighed),
        record_d=compared.record_d,
        season=compared.season,
        known=known,
        ranks=tuple(RankFound(r.name, r.value, r.usual, r.low, r.high, r.share, r.side) for r in ranked.ranks),
        others=ranked.others,
        apart=ranked.apart,
        cases=cases,
        evidence=_found(weighed, wheels),
        care=tuple(_care(book, asked, compared, others)),
        likes=tuple(_likes(book, asked, similar(compared.own, compared.pool, others & compared.pool.fit()))),
        course=_course(book, asked),
    )


def names_for(kind: str) -> tuple[str, ...]:
    """The exposures that a kind of note is matched to: late gas to warmth and not to damp, the rest to all."""
    row = RIND_KINDS.get(kind)
    only_warm = row is not None and row.comes_from == "temperature"
    return tuple(e.name for e in EXPOSURES if not only_warm or e.of == "warm")


def asked_of(book: Book, bout: Bout) -> Asked:
    """The window of a bout, not before the wheel began, and where the wheel stood."""
    lead = lead_of(bout.kind)
    clean_ms, seen_ms = to_ms(bout.from_at), to_ms(bout.to_at)
    window = window_before(clean_ms, seen_ms, lead.short_d, lead.long_d)
    begun = [s.span.from_ms for s in book.stays if s.wheel_id == bout.wheel_id]
    if begun:
        from_ms = min(max(window.from_ms, min(begun)), window.to_ms - DAY_MS)
        window = Window(from_ms, window.to_ms)
    return Asked(bout, window, lead, *book.where(bout.wheel_id, window))


def compare(book: Book, asked: Asked, limits: Limits) -> Compared | None:
    """The window among all others of its place; None where nothing was ever measured there, or not at that time."""
    hours = book.hours(asked.place_id, limits) if asked.place_id else None
    if hours is None or not len(hours):
        return None
    window, record_d = asked.window, len(hours) / 24
    own = stretches(hours, window.to_ms - window.from_ms, window.from_ms)
    if not len(own):
        return None
    pool = stretches(hours, window.to_ms - window.from_ms)
    found = against(pool, window, record_d, book.there(asked.place_id))
    return Compared(own, pool, found.rows, found.season, record_d, keeps_air_off(asked.covering))


def _verdict(known: float, ranked: Ranked, weighed: Evidence | None) -> Verdict:
    if known < LEAST_OWN_KNOWN:
        return "no_readings"
    if not ranked.enough or not ranked.ranks:
        return "short"
    if weighed is not None and weighed.episodes >= LEAST_EPISODES:
        return "stands_out" if weighed.stands_out else "not_more"
    return "ranked" if ranked.ranks[0].unusual else "ordinary"


def _evidence(book: Book, kind: str) -> tuple[Evidence | None, int, int]:
    """What all episodes of a kind say together, how many there are, and how many wheels showed them."""
    by_place: dict[str, list[Asked]] = {}
    for bout in book.first_bouts(kind):
        asked = asked_of(book, bout)
        if asked.place_id and not keeps_air_off(asked.covering):
            by_place.setdefault(asked.place_id, []).append(asked)
    found = [
        (episode.window, [here[note] for note in episode.notes])
        for here in by_place.values()
        for episode in episodes_of([one.window for one in here])
    ]
    cases: list[Case] = []
    for window, told in sorted(found, key=lambda one: one[0].from_ms, reverse=True):
        case = _case(book, told, window) if len(cases) < MOST_EPISODES else None
        cases += [case] if case is not None else []
    wheels = {one.bout.wheel_id for here in by_place.values() for one in here}
    return evidence(cases, names_for(kind)) if cases else None, len(found), len(wheels)


def _case(book: Book, told: Sequence[Asked], window: Window) -> Case | None:
    asked = told[0]
    limits, _ = book.limits(asked.bout.wheel_id, asked.place_id, window.to_ms)
    found = compare(book, Asked(asked.bout, window, asked.lead, asked.place_id, asked.covering, 1.0), limits)
    if found is None or found.own.known[0] < LEAST_OWN_KNOWN:
        return None
    return Case(asked.place_id, found.own, found.pool, found.rows, tuple(_sighting(one) for one in told))


def _sighting(asked: Asked) -> Sighting:
    clean_ms, seen_ms = to_ms(asked.bout.from_at), to_ms(asked.bout.to_at)
    return Sighting(asked.window, clean_ms, seen_ms, asked.lead.short_d, asked.lead.long_d)


def _found(weighed: Evidence | None, wheels: int) -> EvidenceFound | None:
    if weighed is None:
        return None
    return EvidenceFound(
        weighed.names, weighed.p, weighed.p_of, weighed.episodes, wheels, weighed.together, weighed.stands_out
    )


def _care(book: Book, asked: Asked, compared: Compared, others: npt.NDArray[np.bool_]) -> Sequence[CareFound]:
    """Days since turned, looked at and washed, beside what is usual in the place."""
    spans = {s.wheel_id: s.span for s in book.stays if s.place_id == asked.place_id}
    times = care_times(book.db, sorted({*spans, asked.bout.wheel_id}))
    windows = _apart(compared.pool, others)
    begun = min((s.span.from_ms for s in book.stays if s.wheel_id == asked.bout.wheel_id), default=None)
    found = []
    for care, by_wheel in times.items():
        longest = longest_gap_d(by_wheel.get(asked.bout.wheel_id, ()), asked.window, begun)
        if by_wheel.get(asked.bout.wheel_id) and longest is not None:
            found.append(CareFound(care, longest, usual_gap_d(by_wheel, spans, windows)))
    return found


def _apart(pool: Stretches, rows: npt.NDArray[np.bool_]) -> list[Window]:
    found: list[Window] = []
    for start in pool.start_ms[rows].tolist():
        if not found or start >= found[-1].to_ms:
            found.append(Window(start, start + pool.length_ms))
    return found[:: max(1, len(found) // MOST_WINDOWS)]


def _likes(book: Book, asked: Asked, spells: Sequence[Spell]) -> Sequence[Like]:
    """What happened to the wheels that stood in like air."""
    found: list[Like] = []
    for spell in spells:
        here = {
            s.wheel_id
            for s in book.stays
            if s.place_id == asked.place_id
            and 2 * s.span.overlap_ms(spell.window) >= spell.window.to_ms - spell.window.from_ms
        }
        after = Window(
            spell.window.from_ms + round(asked.lead.short_d * DAY_MS),
            spell.window.to_ms + round((asked.lead.long_d + AFTER_D) * DAY_MS),
        )
        notes = [
            NoteThen(book.wheels[wheel].code, kind, at)
            for wheel, kind, at in notes_between(book.db, sorted(here), after)
            if wheel in book.wheels
        ]
        found.append(Like(spell.window.from_ms, spell.window.to_ms, spell.distance, len(here), tuple(notes)))
    return found


def _course(book: Book, asked: Asked) -> Course:
    """The air about the window: half as long again on either side."""
    air = book.air(asked.place_id) if asked.place_id else None
    if air is None:
        return Course()
    wide = max(DAY_MS, (asked.window.to_ms - asked.window.from_ms) // 2)
    start, temperature, humidity = hourly(
        air, Window(asked.window.from_ms - wide, max(asked.window.to_ms + wide, to_ms(asked.bout.to_at)))
    )
    return Course(tuple(start), tuple(temperature), tuple(humidity))


def _blank(book: Book, asked: Asked, limits: Limits, style: str) -> Found:
    bout, place = asked.bout, book.facts.places.get(asked.place_id)
    return Found(
        verdict="no_air",
        kind=bout.kind,
        wheel_id=bout.wheel_id,
        code=book.wheels[bout.wheel_id].code,
        place=place.name if place else "",
        share_there=asked.share_there,
        hidden=keeps_air_off(asked.covering),
        from_ms=asked.window.from_ms,
        to_ms=asked.window.to_ms,
        clean_ms=to_ms(bout.from_at) if bout.clean_known else None,
        seen_ms=to_ms(bout.to_at),
        short_d=asked.lead.short_d,
        long_d=asked.lead.long_d,
        style=style,
        limits=(limits.dampest_pct, limits.driest_pct, limits.warmest_c),
    )
