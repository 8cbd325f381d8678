"""Where a probe hangs, from a date on: reads the form and writes the facts."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from collector.errors import EntryRefused
from collector.readings.raw_from import oldest_ms
from collector.readings.reader import Readings, channels
from collector.records.columns import from_ms, new_id
from collector.records.facts import Place, Placement
from collector.records.places import add_fact, load_facts
from dashboard.household import Household
from dashboard.moments_typed import moment_typed
from dashboard.places import adding
from dashboard.places.style_air import beginnings, begun_from
from dashboard.probes.choices import choose

NEW = "new"
OUTSIDE = "outside"
SITES: Mapping[str, str] = {"air": "The air", "surface": "A surface: ceiling, wall, shelf"}
SINCE: Mapping[str, str] = {"now": "From now on", "first": "From its first reading", "at": "From another time:"}


@dataclass(frozen=True, slots=True)
class By:
    """Who settles something, and when."""

    name: str
    now_at: datetime


def since_typed(texts: Mapping[str, str], household: Household, now_at: datetime, first_at: datetime) -> datetime:
    """From when on something holds.

    Args:
        texts: "since" is now, first or at; "since_at" is the other time. first_at: of the probe's first reading.
    Raises:
        EntryRefused: a time that cannot be read, or none where one was promised.
    """
    since = texts.get("since", "now")
    if since == "first":
        return first_at
    if since == "now":
        return now_at
    if since != "at":
        raise EntryRefused("since", "Say from when on.")
    if not texts.get("since_at", "").strip():
        raise EntryRefused("since_at", "Say from when on, or take one of the other two.")
    return moment_typed(texts["since_at"], household, now_at, "since_at")


def first_reading_at(readings: Readings | None, probe: str, otherwise: datetime) -> datetime:
    """When a probe's oldest reading was taken: a probe that kept readings may have sent them long after."""
    if readings is None:
        return otherwise
    own = [channel.id for channel in channels(readings.db) if channel.probe == probe]
    found = [oldest_ms(readings.db, number) for number in own]
    return min((from_ms(ms) for ms in found if ms is not None), default=otherwise)


def place_chosen(db: Connection, texts: Mapping[str, str], since_at: datetime, by: By) -> Place:
    """The known place that was chosen, or the new one that was named, with its target.

    Raises:
        EntryRefused: neither.
    """
    if texts.get("place") != NEW:
        known = {place.id: place for place, _ in adding.open_places(db)}
        if texts.get("place") not in known:
            raise EntryRefused("place", "Take one of the places, or name a new one.")
        return known[texts["place"]]
    preset = texts.get("preset", "")
    if preset not in beginnings(db):
        raise EntryRefused("preset", "Take one of the kinds of rind, one of your styles, or none.")
    own = adding.add(db, texts.get("name", ""), texts.get("kind", "cave"), texts.get("parent", ""))
    target = begun_from(db, preset, own.id, since_at, by.now_at, by.name)
    if target is not None:
        add_fact(db, target)
    return own


def site_typed(texts: Mapping[str, str], place: Place) -> str:
    """What a probe measures in its place; a place outside says it by itself."""
    if place.kind == OUTSIDE:
        return OUTSIDE
    site = texts.get("site", "air")
    if site not in SITES:
        raise EntryRefused("site", "Say whether it measures the air or a surface.")
    return site


def put(
    db: Connection, probe: str, place: Place, site: str, since_at: datetime, by: By, field: str | None = None
) -> None:
    """Let a probe, or one field of it, measure a place from a time on; whoever places a probe waits for it again."""
    add_fact(db, Placement(new_id(), since_at, by.now_at, probe, site, place.id, field, by=by.name))
    if field is None:
        choose(db, probe, dismissed_at=None)


def take_away(db: Connection, probe: str, since_at: datetime, by: By) -> None:
    """It measures no place any more, with none of its fields."""
    own = {None} | {field for name, field in load_facts(db).placements if name == probe}
    for field in own:
        add_fact(db, Placement(new_id(), since_at, by.now_at, probe, "air", None, field, by=by.name))
