"""Which probes measure the air of a place, which of them speaks for it, and whether it was checked."""

from datetime import datetime

from collector.air.channel import TYPED_PREFIX
from collector.air.read import AirReader
from collector.calibration.history import last_check
from collector.records.columns import to_ms
from collector.records.facts import holding

HUMIDITY = "humidity"


def air_probes(reader: AirReader, place_id: str, at: datetime) -> list[str]:
    """The probes that measure the air of a place at a time, by name; instruments read by eye are none."""
    at_ms = to_ms(at)
    found = {
        channel.probe
        for channel in reader.channels()
        if not channel.probe.startswith(TYPED_PREFIX)
        and {"temperature", HUMIDITY} & reader.roles(channel, place_id, at_ms, at_ms + 1).keys()
    }
    return sorted(found)


def lead(reader: AirReader, place_id: str, at: datetime) -> str:
    """The probe that a person chose to speak for a place, "" for the middle of all."""
    chosen = holding(reader.facts.leads.get(place_id, []), at)
    return chosen.probe or "" if chosen else ""


def is_checked(reader: AirReader, place_id: str, at: datetime) -> bool:
    """Whether the humidity of a place comes from checked probes only: the lead, or else all of them."""
    own = air_probes(reader, place_id, at)
    chosen = lead(reader, place_id, at)
    speaking = [chosen] if chosen in own else own
    fields = [c for c in reader.channels() if c.probe in speaking and c.quantity == HUMIDITY]
    return bool(fields) and all(
        last_check(reader.facts.calibrations.get((c.probe, c.field), []), at) is not None for c in fields
    )
