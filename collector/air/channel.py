"""A raw channel as calibrated values in the quantity's own unit, piece by piece of what was known of it; pure."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from collector.air.model import STEP_MS
from collector.calibration.history import NEW_SENSOR
from collector.calibration.in_use import in_use_uncertainty_pct
from collector.calibration.result import uncertainty_at
from collector.instants import to_ms
from collector.quantities import QUANTITIES, can_be, to_canonical
from collector.quantity_words import guess_unit
from collector.readings.model import Channel, Mark, Millis, Rollups, Series, Values
from collector.records.facts import Calibration, Facts, FieldSetting, Placement, spans

TYPED_PREFIX = "typed/"  # probes that are a person with an instrument
UNCHECKED_U = {"temperature": 0.3, "surface_temperature": 0.5, "humidity": 3.0}
# Our choice from data sheets: 0.2 K and 2 % typical, widened since caves sit outside the recommended range.
TYPED_U = {"temperature": 1.0, "surface_temperature": 1.0, "humidity": 5.0}  # our choice: a dial, read by eye
MOST_HUMIDITY_PCT = 119.0  # beyond what a probe can say; the calibration package takes no more
MOST_CHECK_U_PCT = 50.0
DAY_MS = 86_400_000


@dataclass(frozen=True, slots=True)
class Piece:
    """A span in which everything that is known of a channel stays the same.

    `unit` stands in where the message named none. With `unit_is_said` a person corrected it, and it holds against what
    the message says or what was guessed when it came: both are kept alike and cannot be told apart.
    """

    from_ms: int
    to_ms: int
    quantity: str | None
    unit: str
    calibration: Calibration | None
    placement: Placement | None
    unit_is_said: bool = False

    @property
    def is_surface(self) -> bool:
        placed = self.placement is not None and self.placement.site == "surface"
        return self.quantity == "surface_temperature" or (self.quantity == "temperature" and placed)


def pieces(channel: Channel, facts: Facts, from_ms: int, to_ms: int) -> list[Piece]:
    """Cut a span where a setting, a calibration or a placement of the channel changes.

    Args:
        channel, facts: what is known. from_ms, to_ms: the span [ms since 1970 UTC].
    Returns:
        Pieces in order of time; a field that is ignored has quantity None.
    Source: our choice, see the decision on dated facts in DEVELOPERS.md.
    """
    key = (channel.probe, channel.field)
    return [
        _piece(channel, start, end, setting, calibration, placement)
        for a, b, setting in spans(facts.field_settings.get(key, []), from_ms, to_ms)
        for c, d, calibration in spans(facts.calibrations.get(key, []), a, b)
        for start, end, placement in spans(facts.placements_of(*key), c, d)
    ]


def _piece(
    channel: Channel,
    start: int,
    end: int,
    setting: FieldSetting | None,
    calibration: Calibration | None,
    placement: Placement | None,
) -> Piece:
    quantity = setting.quantity if setting is not None and setting.quantity else channel.quantity
    if setting is not None and setting.ignored:
        quantity = None
    unit = setting.unit if setting is not None else ""
    if not unit and quantity in QUANTITIES:
        unit = guess_unit(channel.field, quantity) or QUANTITIES[quantity].unit
    return Piece(start, end, quantity, unit, calibration, placement, bool(setting and setting.unit))


def calibrated(values: Values, unit: str, piece: Piece) -> Values:
    """Values as sent, in canonical units and with the calibration that held.

    Args:
        values: as sent, shape (n,). unit: the wire's code, "" when it named none. piece: what holds.
    Returns:
        Shape (n,); all NaN when the unit cannot be one of the quantity.
    Source: reference scale and offset of each unit in `collector.quantities`.
    """
    holds = unit and piece.quantity and can_be(unit, piece.quantity) and not piece.unit_is_said
    code = unit if holds else piece.unit
    if piece.quantity is None or not can_be(code, piece.quantity):
        return np.full(len(values), np.nan)
    canonical = np.asarray(to_canonical(values, code, piece.quantity), dtype=float)
    if piece.calibration is None:
        return canonical
    return piece.calibration.offset + piece.calibration.gain * canonical


def uncertainty(channel: Channel, piece: Piece) -> float:
    """Standard uncertainty of a calibrated value, canonical unit; NaN for quantities we do not vouch for."""
    if piece.calibration is not None:
        return piece.calibration.uncertainty
    table = TYPED_U if channel.probe.startswith(TYPED_PREFIX) else UNCHECKED_U
    return table.get(piece.quantity or "", float("nan"))


def uncertainties(channel: Channel, piece: Piece, values: Values, at_ms: Millis) -> Values:
    """Standard uncertainty of each calibrated value: of a checked humidity that at the value, grown since the check.

    Args:
        channel, piece: what holds. values: calibrated, canonical unit, shape (n,). at_ms: their times, shape (n,).
    Returns:
        Shape (n,), canonical unit. A NaN may stay a NaN.
    Source: `collector.calibration.result.uncertainty_at` and `collector.calibration.in_use`. The age counts from
        the day the check was made, before or after, not from when its result was said to hold.
    """
    check = piece.calibration
    if check is None or piece.quantity != "humidity" or check.method == NEW_SENSOR:
        return np.full(len(values), uncertainty(channel, piece))
    true = np.clip(values, 0.0, MOST_HUMIDITY_PCT)
    by_check = uncertainty_at(check.points, check.uncertainty, (true - check.offset) / check.gain)
    age_d = np.abs(at_ms - to_ms(check.known_from_at)) / DAY_MS
    return in_use_uncertainty_pct(np.minimum(by_check, MOST_CHECK_U_PCT), true, age_d)


@dataclass(frozen=True, slots=True)
class Stretch:
    """A channel on the ten-minute grid, shape (n,) each, NaN where it says nothing."""

    channel: Channel
    mean: Values
    low: Values
    high: Values
    spread: Values
    covered_ms: Values
    uncertainty: Values


def on_grid(channel: Channel, raw: Rollups, held: Sequence[Piece], grid_ms: Millis) -> Stretch:
    """Rollups of a channel, calibrated, on a ten-minute grid without holes; NaN outside the pieces given."""
    n = len(grid_ms)
    mean, low, high, spread = (np.full(n, np.nan) for _ in range(4))
    covered, doubt = np.zeros(n), np.full(n, np.nan)
    for piece, code, rows in _parts(raw, held):
        place = ((raw.start_ms[rows] - grid_ms[0]) // STEP_MS).astype(np.int64)
        # Of two units within one step the later row stands; that is the step in which somebody corrected the unit.
        mean[place] = calibrated(raw.mean[rows], code, piece)
        low[place] = calibrated(raw.low[rows], code, piece)
        high[place] = calibrated(raw.high[rows], code, piece)
        spread[place] = np.abs(calibrated(raw.mean[rows] + raw.spread[rows], code, piece) - mean[place])
        covered[place] = raw.covered_ms[rows]
        doubt[place] = uncertainties(channel, piece, mean[place], raw.start_ms[rows])
    covered[np.isnan(mean)] = 0
    return Stretch(channel, mean, low, high, spread, covered, doubt)


def _parts(raw: Rollups, held: Sequence[Piece]) -> Iterator[tuple[Piece, str, npt.NDArray[np.intp]]]:
    for piece in held:
        inside = (raw.start_ms >= piece.from_ms) & (raw.start_ms < piece.to_ms)
        for number in np.unique(raw.unit[inside]):
            yield piece, raw.units[int(number)], np.flatnonzero(inside & (raw.unit == number))


def calibrated_series(raw: Series, held: Sequence[Piece]) -> Series:
    """Raw readings in canonical units with their calibrations; what no piece covers, and times that are only
    "at the latest", are left out."""
    values = np.full(len(raw), np.nan)
    for piece in held:
        inside = (raw.taken_ms >= piece.from_ms) & (raw.taken_ms < piece.to_ms)
        for number in np.unique(raw.unit[inside]):
            rows = inside & (raw.unit == number)
            values[rows] = calibrated(raw.value[rows], raw.units[int(number)], piece)
    keep = ~np.isnan(values) & ((raw.mark & int(Mark.AT_THE_LATEST)) == 0)
    return Series(raw.taken_ms[keep], values[keep], raw.unit[keep], raw.mark[keep], raw.units)
