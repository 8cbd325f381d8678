"""What holds now for each place, for other devices in the house."""

from collections import defaultdict
from datetime import datetime
from typing import Any

from sqlalchemy import Connection

from collector.notify import facts
from collector.notify.known import Known
from collector.notify.telling import word
from collector.records.places import places
from collector.records.warnings import CaveWarning, warnings


def states(connection: Connection, known: Known) -> dict[str, dict[str, Any] | None]:
    """Name, whether all is right, and the open warnings of each place, by its id; None for a closed place.

    Notes are named, but leave a place all right.
    """
    by_place: dict[str, list[CaveWarning]] = defaultdict(list)
    for about in warnings(connection, only_open=True):
        place_id = known.place_of(about)
        if place_id is not None:
            by_place[place_id].append(about)
    found: dict[str, dict[str, Any] | None] = {}
    for place in places(connection):
        own = sorted(by_place.get(place.id, ()), key=lambda about: (about.opened_at, about.id))
        found[place.id] = None if place.closed_at is not None else _state(place.name, own)
    return found


def _state(name: str, own: list[CaveWarning]) -> dict[str, Any]:
    return {
        "place": name,
        "all_right": all(about.severity == "note" for about in own),
        "open": [
            {
                "rule": about.rule,
                "word": word(about.rule),
                "severity": about.severity,
                "since": _iso(facts.since(about)),
                "probe": about.probe,
            }
            for about in own
        ],
    }


def _iso(at: datetime) -> str:
    return at.isoformat(timespec="seconds")
