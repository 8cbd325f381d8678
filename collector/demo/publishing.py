"""From what a probe reads to what it publishes: gaps, stuck spells, report on change, doors, battery and signal."""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from collector.demo.incidents import Incident, IncidentKind
from collector.demo.noise import FloatArray, TimeArray
from collector.demo.openings import Opening
from collector.demo.probes import WAKING_MS, Looks, OnChange, Probe, battery_pct, signal_dbm
from collector.demo.rooms import BoolArray
from collector.demo.weather import DAY_MS, HOUR_MS

# One value on the wire: name of the quantity, value, unit code.
Field = tuple[str, float, str]

UNITS = {"temperature": "Cel", "humidity": "%RH", "surface_temperature": "Cel", "pressure": "hPa"}
# After the power is back, the access point and the probes need a while to find each other.
BACK_AFTER_MS = 150_000
# A switched contact settles before the probe believes it.
CONTACT_SETTLES_MS = 300


class ProbeMessage(NamedTuple):
    """One message of one probe; a tuple and no dataclass, because a year holds two million of them."""

    probe: str
    taken_ms: int
    fields: tuple[Field, ...]


def air_messages(
    probe: Probe,
    read: Looks,
    status: dict[int, tuple[Field, ...]],
    frozen: Callable[[Incident], dict[str, float]],
    incidents: tuple[Incident, ...],
) -> list[ProbeMessage]:
    """What an air or surface probe publishes on a UTC day.

    Args:
        probe: the probe.
        read: what it would read all day.
        status: battery and signal to add, by the number of the look.
        frozen: what it read as a stuck spell began.
        incidents: those that touch the day.
    Returns:
        Its messages in order of time.
    """
    heard = _heard(read.taken_ms, incidents)
    values = _stuck(probe, read, frozen, incidents).values
    if probe.on_change is not None:
        heard &= _moved(values, read.taken_ms, heard, probe, probe.on_change)
    names = [(name, UNITS[name]) for name in values]
    rows = zip(*(values[name].tolist() for name, _ in names), strict=True)
    taken = read.taken_ms.tolist()
    messages: list[ProbeMessage] = []
    for look, (is_heard, row) in enumerate(zip(heard.tolist(), rows, strict=True)):
        if is_heard:
            fields = tuple([(name, value, unit) for (name, unit), value in zip(names, row, strict=True)])
            messages.append(ProbeMessage(probe.name, taken[look], fields + status.get(look, ())))
    return messages


def hourly_status(probe: Probe, seed: int, anchor_ms: int, taken_ms: TimeArray) -> dict[int, tuple[Field, ...]]:
    """Battery and signal, which a probe adds to its first message of an hour.

    Args:
        probe: the probe.
        seed: the world's seed, 0 to 2**64 - 1.
        anchor_ms: the demo's first start [ms since 1970, UTC].
        taken_ms: the times of its messages [ms since 1970, UTC], in order.
    Returns:
        The fields to add, by the number of the message.
    """
    first = np.flatnonzero(np.diff(taken_ms // HOUR_MS, prepend=-1))
    signals = signal_dbm(probe, seed, taken_ms[first]).tolist()
    status: dict[int, tuple[Field, ...]] = {
        look: (("signal", signal, "dBm"),) for look, signal in zip(first.tolist(), signals, strict=True)
    }
    if probe.battery is not None:
        charges = battery_pct(probe.battery, anchor_ms, taken_ms[first]).tolist()
        for look, charge in zip(first.tolist(), charges, strict=True):
            status[look] = (("battery", charge, "%EL"), *status[look])
    return status


def _heard(taken_ms: TimeArray, incidents: tuple[Incident, ...]) -> BoolArray:
    heard = np.ones(taken_ms.size, dtype=bool)
    for incident in incidents:
        if incident.kind is IncidentKind.POWER_CUT:
            heard &= (taken_ms < incident.from_ms) | (taken_ms >= incident.to_ms + BACK_AFTER_MS)
    return heard


def _stuck(
    probe: Probe,
    read: Looks,
    frozen: Callable[[Incident], dict[str, float]],
    incidents: tuple[Incident, ...],
) -> Looks:
    values = read.values
    for incident in incidents:
        if incident.kind is IncidentKind.PROBE_STUCK and incident.probe == probe.name:
            inside = (read.taken_ms >= incident.from_ms) & (read.taken_ms < incident.to_ms)
            held = frozen(incident)
            values = {name: np.where(inside, held[name], course) for name, course in values.items()}
    return Looks(read.taken_ms, values)


def _moved(
    values: dict[str, FloatArray], taken_ms: TimeArray, heard: BoolArray, probe: Probe, rule: OnChange
) -> BoolArray:
    # The first look of a UTC day is always published, so that a day can be computed without the one before.
    temperatures, humidities = values["temperature"].tolist(), values["humidity"].tolist()
    longest_ms = 1000 * (rule.latest_s - probe.interval_s) - WAKING_MS
    taken = taken_ms.tolist()
    moved = np.zeros(taken_ms.size, dtype=bool)
    last = -1
    for look in range(taken_ms.size):
        if not heard[look]:
            last = -1
            continue
        moved[look] = (
            last < 0
            or abs(temperatures[look] - temperatures[last]) >= rule.temperature_k
            or abs(humidities[look] - humidities[last]) >= rule.humidity_pct
            or taken[look] - taken[last] > longest_ms
        )
        last = look if moved[look] else last
    return moved


def door_messages(
    probe: Probe,
    day: int,
    found: tuple[Opening, ...],
    status: Callable[[TimeArray], dict[int, tuple[Field, ...]]],
    incidents: tuple[Incident, ...],
) -> list[ProbeMessage]:
    """What a door contact publishes on a UTC day: each change, and its state at the latest every interval.

    Args:
        probe: the contact; `interval_s` is its longest silence.
        day: days since 1970-01-01 UTC.
        found: when the door was opened that day.
        status: battery and signal to add, by the number of the message, for the times of the messages.
        incidents: those that touch the day; a door left ajar is an open one.
    Returns:
        Its messages in order of time.
    """
    start_ms = day * DAY_MS
    end_ms = start_ms + DAY_MS
    spells = _open_spells(probe, found, incidents)
    regular = range(start_ms + 1000 * probe.phase_s, end_ms, 1000 * probe.interval_s)
    edges = [edge + CONTACT_SETTLES_MS for spell in spells for edge in (spell.from_ms, spell.to_ms)]
    taken_ms = np.unique([*regular, *(edge for edge in edges if start_ms <= edge < end_ms)])
    taken_ms = taken_ms[_heard(taken_ms, incidents)]
    extra = status(taken_ms)
    messages: list[ProbeMessage] = []
    for number, taken in enumerate(taken_ms.tolist()):
        is_open = any(s.from_ms + CONTACT_SETTLES_MS <= taken < s.to_ms + CONTACT_SETTLES_MS for s in spells)
        messages.append(ProbeMessage(probe.name, taken, (("door", float(is_open), "open"), *extra.get(number, ()))))
    return messages


def _open_spells(probe: Probe, found: tuple[Opening, ...], incidents: tuple[Incident, ...]) -> list[Opening]:
    ajar = [
        Opening(incident.from_ms, incident.to_ms)
        for incident in incidents
        if incident.kind is IncidentKind.DOOR_AJAR and incident.place == probe.place
    ]
    # Who opens a door that stands ajar changes nothing that the contact could feel.
    inside = [opening for opening in found if not any(a.from_ms <= opening.from_ms < a.to_ms for a in ajar)]
    return sorted([*inside, *ajar], key=lambda spell: spell.from_ms)
