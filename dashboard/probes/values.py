"""What each field of a probe said last, in the household's units."""

from dataclasses import dataclass
from datetime import datetime

import numpy as np

from collector.air.channel import Piece, calibrated, pieces
from collector.calibration.history import last_check
from collector.readings.model import Channel, Mark
from collector.readings.reader import Readings
from collector.records.columns import from_ms, to_ms
from collector.records.facts import Facts, holding
from dashboard.amounts import amount, quantity_word
from dashboard.household import Household

BATTERY = ("battery", "battery_voltage")
SIGNAL = ("signal", "link_quality")
CHECKED = ("humidity", "temperature", "surface_temperature")  # what a check makes surer


@dataclass(frozen=True, slots=True)
class Value:
    """A field as it stands now.

    Args:
        quantity: None when nobody knows, or when it is left out. word: "" then.
        shown: the calibrated value with its unit. at: when it was taken. remark: what is odd about that time.
        place_id: where this field measures, None for nowhere. checked_at: the check that holds.
    """

    channel: Channel
    quantity: str | None
    word: str
    shown: str
    at: datetime | None
    remark: str
    place_id: str | None
    site: str
    left_out: bool
    checked_at: datetime | None
    wants_check: bool


def current_piece(channel: Channel, facts: Facts, now_at: datetime) -> Piece:
    """What is known of a channel now."""
    now_ms = to_ms(now_at)
    return pieces(channel, facts, now_ms, now_ms + 1)[-1]


def value(readings: Readings, channel: Channel, facts: Facts, household: Household, now_at: datetime) -> Value:
    """A field's last value."""
    piece = current_piece(channel, facts, now_at)
    last = readings.last(channel.id)
    setting = holding(facts.field_settings.get((channel.probe, channel.field), []), now_at)
    check = last_check(facts.calibrations.get((channel.probe, channel.field), []), now_at)
    surface = piece.is_surface
    return Value(
        channel=channel,
        quantity=piece.quantity,
        word="surface temperature" if surface else quantity_word(piece.quantity),
        shown=_shown(last, piece, household),
        at=from_ms(last[0]) if last else None,
        remark=_remark(last[3]) if last else "",
        place_id=piece.placement.place_id if piece.placement else None,
        site=piece.placement.site if piece.placement else "",
        left_out=setting is not None and setting.ignored,
        checked_at=check.known_from_at if check else None,
        wants_check=piece.quantity in CHECKED,
    )


def _shown(last: tuple[int, float, str, int] | None, piece: Piece, household: Household) -> str:
    if last is None:
        return amount(None, piece.quantity, household)
    _, number, unit, _ = last
    if piece.quantity is None:
        return amount(number, None, household, unit)
    return amount(float(calibrated(np.array([number]), unit, piece)[0]), piece.quantity, household)


def _remark(mark: int) -> str:
    if mark & Mark.AT_THE_LATEST:
        return "or earlier: it waited while rindwatch was away"
    return "the time at which it came; it told none" if mark & Mark.TIME_OF_ARRIVAL else ""
