"""Probes, their channels and the readings of each."""

from collections.abc import Sequence

import numpy as np
from fastapi import APIRouter

from collector.air.channel import calibrated, pieces
from collector.air.read import AirReader
from collector.notify.known import load_known
from collector.quantities import QUANTITIES
from collector.readings.model import Channel, Series, Values
from collector.readings.reader import Readings
from collector.records.columns import from_ms
from collector.rules.trust.cleaning import Flags
from dashboard.api.access import ApiReader
from dashboard.api.reading import air_reader, channel_of, numbers, readings_of
from dashboard.api.shapes import ERRORS, ChannelOut, From, LastReading, ProbeOut, ReadingsOut, To, span_ms

router = APIRouter(tags=["probes"], responses=ERRORS)
MOST_DAYS = 32


@router.get("/probes")
def probes(visit: ApiReader) -> list[ProbeOut]:
    """Every probe that was ever heard; people with an instrument are some too."""
    readings = readings_of(visit)
    with visit.looking() as db:
        known = load_known(db, visit.now_at)
    by_probe: dict[str, list[ChannelOut]] = {}
    for channel in readings.channels():
        by_probe.setdefault(channel.probe, []).append(_channel(readings, channel))
    return [
        ProbeOut(
            name=probe.name,
            called=known.probe_names.get(probe.name, ""),
            topic=probe.topic,
            first_heard_at=from_ms(probe.first_ms),
            last_heard_at=from_ms(probe.last_ms),
            messages=probe.messages,
            state=probe.state,
            place_id=known.probe_places.get(probe.name),
            channels=by_probe.get(probe.name, []),
        )
        for probe in readings.probes()
    ]


@router.get("/channels")
def channels(visit: ApiReader) -> list[ChannelOut]:
    """Every channel with its newest reading."""
    readings = readings_of(visit)
    return [_channel(readings, channel) for channel in readings.channels()]


@router.get("/channels/{number}/readings")
def readings(visit: ApiReader, number: int, from_at: From, to_at: To) -> ReadingsOut:
    """The readings of a channel, as sent and calibrated; at most 32 days at once."""
    start, end = span_ms(from_at, to_at, MOST_DAYS)
    store = readings_of(visit)
    channel = channel_of(store, number)
    with visit.looking() as db:
        reader = air_reader(visit, db, start, end)
    raw = store.series(channel.id, start, end)
    quantity = quantity_of(reader, channel, start, end)
    return ReadingsOut(
        channel=_channel(store, channel),
        quantity_unit=QUANTITIES[quantity].unit if quantity else None,
        taken_at=[from_ms(ms) for ms in raw.taken_ms.tolist()],
        as_sent=raw.value.tolist(),
        unit_as_sent=[raw.units[unit] for unit in raw.unit.tolist()],
        value=numbers(calibrated_values(reader, channel, raw, quantity)),
        doubtful=doubted(reader.doubts.get(channel.id, ()), raw).tolist(),
    )


def quantity_of(reader: AirReader, channel: Channel, start: int, end: int) -> str | None:
    """What a channel measured at the end of a span, None where nobody knows."""
    held = pieces(channel, reader.facts, start, end)
    return next((piece.quantity for piece in reversed(held) if piece.quantity in QUANTITIES), None)


def calibrated_values(reader: AirReader, channel: Channel, raw: Series, quantity: str | None) -> Values:
    """Each reading calibrated in the canonical unit of a quantity; NaN where it measured something else."""
    value = np.full(len(raw), np.nan)
    if quantity is None or len(raw) == 0:
        return value
    for piece in pieces(channel, reader.facts, int(raw.taken_ms[0]), int(raw.taken_ms[-1]) + 1):
        inside = (raw.taken_ms >= piece.from_ms) & (raw.taken_ms < piece.to_ms) & (piece.quantity == quantity)
        for unit in np.unique(raw.unit[inside]):
            rows = inside & (raw.unit == unit)
            value[rows] = calibrated(raw.value[rows], raw.units[int(unit)], piece)
    return value


def doubted(spells: Sequence[tuple[int, int]], raw: Series) -> Flags:
    """Which readings fall into spells in which their probe cannot be believed."""
    found = np.zeros(len(raw), dtype=bool)
    for from_ms_, to_ms_ in spells:
        found |= (raw.taken_ms >= from_ms_) & (raw.taken_ms < to_ms_)
    return found


def _channel(readings: Readings, channel: Channel) -> ChannelOut:
    last = readings.last(channel.id)
    newest = None if last is None else LastReading(taken_at=from_ms(last[0]), value=last[1], unit=last[2])
    return ChannelOut(
        id=channel.id, probe=channel.probe, field=channel.field, quantity=channel.quantity, unit=channel.unit,
        last=newest,
    )  # fmt: skip
