"""Builders with sensible defaults for what goes through the house; the values are invented."""

from datetime import UTC, datetime, timedelta

from collector.readings.model import Arrival, Mark, Sample
from collector.records.columns import to_ms

START_AT = datetime(2026, 3, 2, 6, 0, tzinfo=UTC)
START_MS = to_ms(START_AT)
MINUTE_MS = 60_000


def at(minute: float) -> datetime:
    return START_AT + timedelta(minutes=minute)


def ms(minute: float) -> int:
    return to_ms(at(minute))


def a_sample(
    minute: float = 0, value: float = 12.0, field: str = "temperature", unit: str = "Cel", mark: Mark = Mark.NONE
) -> Sample:
    return Sample(field, ms(minute), value, unit, field if field in ("temperature", "humidity") else None, mark)


def an_arrival(*samples: Sample, probe: str = "cellar-1", minute: float | None = None, **more: object) -> Arrival:
    """A message that came as soon as it was sent, unless told otherwise."""
    samples = samples or (a_sample(),)
    arrived = samples[-1].taken_ms if minute is None else ms(minute)
    return Arrival(probe, f"rindwatch/{probe}/readings", arrived, samples, **more)  # type: ignore[arg-type]


def a_stretch_of(
    values: list[float], every_min: float = 1, field: str = "temperature", unit: str = "Cel", probe: str = "cellar-1"
) -> list[Arrival]:
    """One message for each value, evenly spaced from the start."""
    return [an_arrival(a_sample(i * every_min, value, field, unit), probe=probe) for i, value in enumerate(values)]
