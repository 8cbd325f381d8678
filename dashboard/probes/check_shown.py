"""A check under way and those before it, as the page shows them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from math import isnan
from typing import ClassVar

from collector.calibration.due import next_check
from collector.calibration.fit import Fit, fit
from collector.calibration.history import NEW_SENSOR, last_check
from collector.calibration.salts import BY_NAME
from collector.calibration.settling import Settling
from collector.calibration.side_by_side import Comparison
from collector.errors import EntryRefused
from collector.quantities import QUANTITIES
from collector.readings.model import Channel
from collector.readings.reader import Readings
from collector.records.columns import from_ms, to_ms
from collector.records.facts import Calibration
from dashboard import links_to
from dashboard.amounts import quantity_word, unit_word
from dashboard.probes import check_air, check_words
from dashboard.probes.book import Book
from dashboard.probes.check_words import Good
from dashboard.probes.checking import Pending
from dashboard.probes.placing import SINCE
from dashboard.probes.values import current_piece

DRIFTING = ("creeping", "disagrees", "apart")


@dataclass(frozen=True, slots=True)
class JarShown:
    """The closed jar: what the probe says in it, how that moves, what is still missing."""

    salt: str
    closed_at: datetime
    humidity_pct: float | None
    temperature_c: float | None
    moving: str
    moving_k: str
    missing: tuple[str, ...]
    wait: str
    settled: bool


@dataclass(frozen=True, slots=True)
class PointShown:
    number: int
    salt: str
    reading: str
    true: str
    temperature_c: float


@dataclass(frozen=True, slots=True)
class ResultShown:
    """What would be kept: in a sentence, what it is good for, and a doubt where there is one; or why it cannot be."""

    verdict: str
    good: tuple[Good, ...]
    suspicion: str
    refused: str
    one_point: bool


@dataclass(frozen=True, slots=True)
class BesideShown:
    whom: str
    since_at: datetime
    difference: str
    missing: tuple[str, ...]
    complete: bool


@dataclass(frozen=True, slots=True)
class CheckPart:
    template: ClassVar[str] = "check_probe_part.html"
    path: str
    field: str
    jar: JarShown | None
    points: tuple[PointShown, ...]
    result: ResultShown | None
    beside: BesideShown | None
    may_change: bool

    @property
    def idle(self) -> bool:
        return self.jar is None and self.beside is None


@dataclass(frozen=True, slots=True)
class Past:
    """A field and its checks, newest first, with when the next is due."""

    field: str
    word: str
    checks: tuple[tuple[datetime, str, str, datetime], ...]
    due_at: datetime | None
    overdue: bool
    because: str


def part_of(
    readings: Readings, book: Book, name: str, pending: Pending | None, now_at: datetime, may_change: bool
) -> CheckPart:
    """What changes while somebody waits."""
    path = links_to.check(name)
    if pending is None:
        return CheckPart(path, "", None, (), None, None, may_change)
    found = check_air.in_jar(readings, book, name, pending, now_at) if pending.salt else None
    stay = check_air.side_by_side(readings, book, name, pending, now_at) if pending.beside else None
    return CheckPart(
        path=path,
        field=pending.field,
        jar=_jar(pending, found) if found else None,
        points=tuple(
            PointShown(i, BY_NAME[salt].word, f"{p.reading:.1f} %", f"{p.true:.1f} %", p.temperature_c)
            for i, (p, salt) in enumerate(zip(pending.points, pending.salts, strict=True))
        ),
        result=_result(pending),
        beside=_beside(book, pending, *stay) if stay else None,
        may_change=may_change,
    )


def _jar(pending: Pending, found: Settling) -> JarShown:
    def known(value: float) -> float | None:
        return None if isnan(value) else value

    return JarShown(
        BY_NAME[pending.salt].word, from_ms(pending.since_ms), known(found.reading_pct), known(found.temperature_c),
        check_words.per_hour(found.humidity_per_h, "%"), check_words.per_hour(found.temperature_per_h, "K"),
        check_words.still_moving(found), check_words.wait_words(found), found.settled,
    )  # fmt: skip


def _result(pending: Pending) -> ResultShown | None:
    if not pending.points:
        return None
    try:
        found: Fit = fit(pending.points)
    except EntryRefused as refused:
        return ResultShown("", (), "", str(refused), False)
    return ResultShown(
        check_words.verdict(found), check_words.good_for(found), check_words.suspicion(found), "", found.offset_only
    )


def _beside(book: Book, pending: Pending, quantity: str, found: Comparison) -> BesideShown:
    unit = unit_word(QUANTITIES[quantity].unit)
    said = "" if isnan(found.offset) else f"{found.offset:+.2f} {unit}, ± {2 * found.uncertainty:.1f}".replace("-", "−")
    return BesideShown(
        book.called(pending.beside[0]), from_ms(pending.since_ms), said, check_words.still_missing(found),
        not found.missing,
    )  # fmt: skip


def since_choices(book: Book, name: str, pending: Pending | None, now_at: datetime) -> Mapping[str, str]:
    """From when on a result may hold; "last" where there was a check before."""
    last = pending and last_check(book.facts.calibrations.get((name, pending.field), []), now_at)
    more = {"last": "From its last check on: it has drifted since"} if last else {}
    return {"now": SINCE["now"], **more, "first": SINCE["first"], "at": SINCE["at"]}


def past(readings: Readings, book: Book, name: str, now_at: datetime) -> tuple[Past, ...]:
    """Each field that can be checked, with its checks and the next."""
    own = check_air.fields_of(book, name, now_at)
    return tuple(_past(readings, book, name, channel, now_at) for channel in own.values())


def _past(readings: Readings, book: Book, name: str, channel: Channel, now_at: datetime) -> Past:
    quantity = current_piece(channel, book.facts, now_at).quantity or ""
    kept: Sequence[Calibration] = book.facts.calibrations.get((name, channel.field), [])
    newest = sorted(kept, key=lambda one: one.known_from_at, reverse=True)
    last = last_check(kept, now_at)
    lives = check_air.habitat_pct(readings, book.facts, channel, now_at) if quantity == "humidity" else float("nan")
    signs = [to_ms(fault.opened_at) for fault in book.faults.get(name, ()) if fault.rule in DRIFTING]
    due = next_check(quantity, channel.first_ms, to_ms(last.known_from_at) if last else None, lives, signs)
    unit = unit_word(QUANTITIES[quantity].unit)
    because = {
        "never_checked": "it was never checked", "sign": "it drifts", "calendar": "common practice, no source",
    }  # fmt: skip
    return Past(
        field=channel.field,
        word=quantity_word(quantity),
        checks=tuple((one.known_from_at, _made(one), _correction(one, unit), one.valid_from_at) for one in newest),
        due_at=from_ms(due.at_ms) if due else None,
        overdue=due is not None and due.at_ms <= to_ms(now_at),
        because=because[due.because] if due else "",
    )


def _made(one: Calibration) -> str:
    return check_words.method_words(one.method, [row[1] for row in one.points])


def _correction(one: Calibration, unit: str) -> str:
    return "as it reads" if one.method == NEW_SENSOR else check_words.correction_words(one.offset, one.gain, unit)
