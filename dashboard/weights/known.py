"""All that is known of one wheel for its weight: weighings, air, limits, ready day. Only reads."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

import numpy as np
from sqlalchemy import Connection

from collector.records.columns import from_ms, to_ms
from dashboard.household import Household
from dashboard.weights.around import DAY_MS, Around
from dashboard.wheels.bodies.doings import Care
from dashboard.wheels.bodies.sheets import StyleSheet
from dashboard.wheels.book import Style, WheelBook, gear
from dashboard.wheels.history import History
from dashboard.wheels.kinds.care import CARE_KINDS
from dashboard.wheels.kinds.coverings import BARE
from dashboard.wheels.losses import CUT, LossPoint
from dashboard.wheels.stays import Stay
from dashboard.wheels.tables import gear as gear_table
from dashboard.wheels.weight.advice import Limits, limits_for
from dashboard.wheels.weight.exposure import Exposure, Home, Under, exposed
from dashboard.wheels.weight.fit import Fit, Weighings, Wheel, fitted
from dashboard.wheels.weight.priors import open_area_m2, prior_of

MOST_WEIGHINGS = 60
SOON_D, FAR_D = 60, 730
# Our choice where nobody said the scale's step: a kitchen scale's, or a hanging scale's.
LIGHT_G, LIGHT_STEP_G, HEAVY_STEP_G = 4_500.0, 1.0, 10.0
BORN_BEFORE_D = 2.0
WET_FOR_MS = 6 * 3_600_000  # common practice, no source: a washed wheel has dried off by the evening


@dataclass(frozen=True, slots=True)
class Known:
    """One wheel ready to be asked.

    Args:
        fit: what was learnt. past: its air from its start to now. covers, homes: coverings and places so far.
        start_g: what is 100 % [g], and its day. limits: what it should have lost by its ready day, None for no style.
        due_ms: its ready day, or `SOON_D` ahead where nothing says one (`due_is_ready` then False).
        place_ids: its places so far, by home number.
    """

    book: WheelBook
    style: StyleSheet | None
    fit: Fit
    past: Exposure
    covers: tuple[Under, ...]
    place_ids: tuple[str, ...]
    start_g: float
    start_ms: int
    limits: Limits | None
    due_ms: int
    due_is_ready: bool

    @property
    def place_id(self) -> str | None:
        return self.book.wheel.place_id

    def loss_pct(self, mass_g: float) -> float:
        """Loss of its start at a mass [%]."""
        return 100 * (1 - mass_g / self.start_g)

    def mass_g(self, loss_pct: float) -> float:
        return self.start_g * (1 - loss_pct / 100)

    def home_number(self, place_id: str) -> int:
        """The number by which a place's probe is told from others."""
        return self.place_ids.index(place_id) if place_id in self.place_ids else len(self.place_ids)


def known(
    db: Connection, around: Around, book: WheelBook, style: Style | None, household: Household, on: date | None = None
) -> Known | None:
    """Gather a wheel and learn from its weighings; None where nothing was weighed from its start on.

    Args:
        on: the day it should be ready, in place of the middle of its style's window.
    """
    history = book.history
    points = [point for point in history.losses if point.net_g > 0]
    if history.start is None or history.start.net_g <= 0 or not (points or history.start.name == CUT):
        return None
    sheet = style.sheet if style else None
    start_g = history.start.net_g
    weighings = _weighings(history, start_g, _wetted_ms(book))
    covers, homes, place_ids = _where(history.stays)
    first_ms = int(weighings.at_ms[0])
    until_ms = max(around.now_ms, int(weighings.at_ms[-1]) + 1)
    past = exposed(around.of_wheel(history.stays, first_ms), covers, first_ms, max(until_ms, first_ms + 1), homes)
    tares = tuple(g.sheet.tare_g for g in gear(db, gear_table.c.gear == "board") if g.sheet.tare_g)
    wheel = Wheel(_area_m2(book, start_g), _born_ms(book, household), prior_of(sheet.rind if sheet else ""), tares)
    # What is usual is usual of a whole wheel from the cave on, not of a part since its cut.
    limits = limits_for(sheet.losses, start_g) if sheet and history.start.name != CUT else None
    due_ms, is_ready = _due(book, sheet, household, int(past.edges_ms[-1]), on)
    return Known(
        book, sheet, fitted(wheel, weighings, past), past, covers, place_ids, start_g, to_ms(history.start.at),
        limits, due_ms, is_ready,
    )  # fmt: skip


def _wetted_ms(book: WheelBook) -> list[int]:
    """When care left the wheel wet."""
    return [
        to_ms(entry.happened_at)
        for entry in book.entries
        if isinstance(entry.body, Care) and entry.body.care in CARE_KINDS and CARE_KINDS[entry.body.care].wets
    ]


def _weighings(history: History, start_g: float, wetted_ms: Sequence[int]) -> Weighings:
    points = list(history.losses)
    start = history.start
    if start is not None and start.name == CUT and (not points or points[0].at > start.at):
        points.insert(0, LossPoint(start.at, start.net_g, 0.0, False, ""))
    if len(points) > MOST_WEIGHINGS:
        points = [points[0], *points[1 - MOST_WEIGHINGS :]]
    steps = {weight.entry_id: weight.step_g for weight in history.weights}
    usual = LIGHT_STEP_G if start_g < LIGHT_G else HEAVY_STEP_G
    return Weighings(
        np.array([to_ms(p.at) for p in points], dtype=np.int64),
        np.array([start_g * (1 - p.loss_pct / 100) for p in points]),
        np.array([steps.get(p.entry_id) or usual for p in points]),
        np.array([p.wet or _is_wet(to_ms(p.at), wetted_ms) for p in points], dtype=bool),
    )


def _is_wet(at_ms: int, wetted_ms: Sequence[int]) -> bool:
    return any(0 <= at_ms - one <= WET_FOR_MS for one in wetted_ms)


def _where(stays: Sequence[Stay]) -> tuple[tuple[Under, ...], list[Home], tuple[str, ...]]:
    """Coverings and homes of a wheel, and its places by their number."""
    places: list[str] = []
    covers, homes = [], []
    for stay in stays:
        covers.append(Under(to_ms(stay.from_at), stay.covering, stay.coats))
        if stay.place_id is None:
            continue
        if stay.place_id not in places:
            places.append(stay.place_id)
        homes.append(Home(to_ms(stay.from_at), places.index(stay.place_id)))
    return tuple(covers), homes, tuple(places)


def _area_m2(book: WheelBook, start_g: float) -> float:
    """From its measured size where it is a whole round wheel, else from its weight."""
    sheet, origin = book.history.sheet, book.history.origin
    if origin is None and sheet.shape == "cylinder" and sheet.diameter_mm:
        return open_area_m2(start_g, sheet.diameter_mm, sheet.height_mm)
    return open_area_m2(start_g)


def _born_ms(book: WheelBook, household: Household) -> int:
    """When its rind began to dry: out of the press; a part whose face was left bare, when it was cut."""
    origin, pressed = book.history.origin, book.history.starts.get("press")
    if origin is not None and origin.weight_g is not None and origin.face == BARE:
        return to_ms(origin.at)
    if pressed is not None:
        return to_ms(pressed.at)
    if book.wheel.made_on is not None:
        return to_ms(datetime.combine(book.wheel.made_on, time(12), household.zone).astimezone(UTC))
    first = book.history.start
    return to_ms(first.at) - int(BORN_BEFORE_D * DAY_MS) if first else 0


def _due(
    book: WheelBook, sheet: StyleSheet | None, household: Household, now_ms: int, on: date | None
) -> tuple[int, bool]:
    """The ready day: the one asked for, else the middle of the style's window, else its end; always after now."""
    days = [on] if on else _window_days(book, sheet)
    for day in days:
        at_ms = to_ms(datetime.combine(day, time(12), household.zone).astimezone(UTC))
        if now_ms + DAY_MS <= at_ms <= now_ms + FAR_D * DAY_MS:
            return at_ms, True
    return now_ms + SOON_D * DAY_MS, False


def _window_days(book: WheelBook, sheet: StyleSheet | None) -> list[date]:
    made_on = book.wheel.made_on
    if made_on is None or sheet is None or sheet.ripe_from_d is None:
        return []
    last_d = sheet.ripe_to_d or sheet.ripe_from_d
    return [made_on + timedelta(days=(sheet.ripe_from_d + last_d) // 2), made_on + timedelta(days=last_d)]


def day_of(at_ms: int, household: Household) -> date:
    """The local day of a time."""
    return from_ms(at_ms).astimezone(household.zone).date()
