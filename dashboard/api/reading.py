"""What several parts of the API read alike."""

import re

import numpy as np
from fastapi import HTTPException
from sqlalchemy import Connection

from collector.air.read import AirReader
from collector.errors import SchemaMissing
from collector.readings.model import Channel, Values
from collector.readings.reader import Readings
from collector.records.facts import Facts, Place
from collector.records.places import load_facts
from collector.watch import doubtful_spans
from dashboard.visit import Visit


def readings_of(visit: Visit) -> Readings:
    """The readings.

    Raises:
        SchemaMissing: nothing was prepared here yet.
    """
    if visit.readings is None:
        raise SchemaMissing(visit.house.settings.readings_path)
    return visit.readings


def place_of(facts: Facts, place_id: str) -> Place:
    """A place, also a closed one.

    Raises:
        HTTPException: there is none of that id.
    """
    place = facts.places.get(place_id)
    if place is None:
        raise HTTPException(404)
    return place


def channel_of(readings: Readings, number: int) -> Channel:
    """A channel by its number.

    Raises:
        HTTPException: there is none.
    """
    found = next((channel for channel in readings.channels() if channel.id == number), None)
    if found is None:
        raise HTTPException(404)
    return found


def air_reader(visit: Visit, db: Connection, from_ms: int, to_ms: int) -> AirReader:
    """Answers for the air of any place within a span, doubtful readings left out."""
    readings = readings_of(visit)
    channels = readings.channels()
    return AirReader(readings.db, load_facts(db), doubtful_spans(db, channels, from_ms, to_ms), channels)


def numbers(values: Values, digits: int = 3) -> list[float | None]:
    """An array as JSON can say it: rounded, a gap as None."""
    rounded = np.round(values, digits).astype(object)
    rounded[np.isnan(values)] = None
    result: list[float | None] = rounded.tolist()
    return result


def file_name(name: str, what: str) -> dict[str, str]:
    """Headers that keep an answer as a file; its name has only signs that every system takes."""
    safe = re.sub(r"[^A-Za-z0-9]+", "-", name).strip("-").lower() or "place"
    return {"Content-Disposition": f'attachment; filename="{safe}-{what}.csv"', "Cache-Control": "no-store"}
