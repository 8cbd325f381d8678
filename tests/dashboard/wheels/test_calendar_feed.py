"""The calendar feed, read back by icalendar; rules of RFC 5545 as named beside each check."""

from collections.abc import Callable, Hashable
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from icalendar import Calendar, Event
from sqlalchemy import Connection

from collector.records.places import places
from dashboard.wheels.bodies.sheets import PlanLine, StyleSheet
from dashboard.wheels.calendar_days import Day, Planned, days
from dashboard.wheels.calendar_feed import calendar_text, feed_for, new_feed, revoke_feeds, who_of
from dashboard.wheels.entries import put_all
from dashboard.wheels.kept_by_facts import KeptByFacts
from tests.dashboard.wheels.builders import (
    CELLAR,
    OTHER,
    SHELF,
    STYLE,
    WHEEL,
    a_wheel,
    day,
    moved,
    new,
    turned,
)

PARIS = ZoneInfo("Europe/Paris")
NAMES = {"name": "Cheese", "host": "cave.home.arpa", "base_address": "https://cave.home.arpa"}
STYLED = StyleSheet(
    name="tomme",
    plan=(
        PlanLine(care="turned", every_d=3),
        PlanLine(care="brushed", every_d=7, from_d=14),
        PlanLine(care="tasted", every_d=90, from_d=90),
    ),
    ripe_from_d=60,
    ripe_to_d=180,
)
TODAY = date(2025, 3, 11)  # day 10
TODAY_AT = datetime(2025, 3, 10, 23, tzinfo=UTC)


def a_plan(code: str = "A", **more: object) -> Planned:
    values = {
        "wheel_id": f"id-{code}",
        "code": code,
        "cave_id": "c1",
        "cave": "lower cellar",
        "style": STYLED,
        "made_on": day(0).date(),
        "last_on": {"turned": day(9).date()},
        "changed_at": day(9),
    }
    return Planned(**{**values, **more})


def events(data: bytes) -> list[Event]:
    return list(Calendar.from_ical(data).walk("VEVENT"))


def test_one_event_a_cave_and_day_says_what_is_to_do() -> None:
    found = days([a_plan("A"), a_plan("B")], TODAY, TODAY_AT, 10)
    assert [(d.on.day, d.summary) for d in found] == [
        (13, "lower cellar: turn 2"),
        (15, "lower cellar: brush 2"),
        (16, "lower cellar: turn 2"),
        (19, "lower cellar: turn 2"),
    ]
    assert found[0].description == "turn: A, B"


def test_what_is_overdue_stands_today_and_goes_on_by_its_rhythm() -> None:
    late = a_plan("A", last_on={"turned": day(2).date()})
    found = days([late, a_plan("B")], TODAY, TODAY_AT, 4)
    assert [(d.on.day, d.summary) for d in found] == [
        (11, "lower cellar: turn 1 (1 overdue)"),
        (13, "lower cellar: turn 1"),
        (14, "lower cellar: turn 1"),
        (15, "lower cellar: brush 2"),
    ]


def test_tastings_and_ripeness_have_events_of_their_own() -> None:
    found = [d for d in days([a_plan()], TODAY, TODAY_AT, 120) if not d.uid.startswith("round")]
    assert [(d.uid, d.summary, d.description) for d in found] == [
        ("ripe-id-A", "A is ripe", "tomme, 60 days old, best by 2025-08-28"),
        ("taste-id-A-20250530", "Taste A", "tomme, 90 days old"),
    ]


def test_a_bagged_wheel_is_not_to_be_brushed() -> None:
    found = days([a_plan(covering="barrier_bag")], TODAY, TODAY_AT, 10)
    assert not [d for d in found if "brush" in d.summary]


def test_the_feed_is_a_calendar_by_rfc_5545() -> None:
    found = days([a_plan("A; B, C\\"), a_plan("é" * 60)], TODAY, TODAY_AT, 20)
    data = calendar_text(found, **NAMES)
    # Section 3.1: lines end CRLF and are no longer than 75 octets.
    assert data.endswith(b"END:VCALENDAR\r\n")
    assert all(len(line) <= 75 for line in data.split(b"\r\n"))
    assert b"\n" not in data.replace(b"\r\n", b"")
    # Section 3.3.11: backslash, semicolon, comma and newline are escaped.
    assert b"A\\; B\\, C\\\\" in data.replace(b"\r\n ", b"")
    calendar = Calendar.from_ical(data)
    # Section 3.6: VERSION 2.0 and PRODID; section 3.6.1: UID, DTSTAMP in UTC, DTSTART; an all-day DTEND is exclusive.
    assert (calendar["version"], calendar["prodid"]) == ("2.0", "-//rindwatch//wheel book//EN")
    for event, expected in zip(events(data), found, strict=True):
        assert event["uid"] == f"{expected.uid}@cave.home.arpa"
        assert event["dtstamp"].dt.utcoffset() == timedelta(0)
        assert event["dtstart"].dt == expected.on
        assert event["dtend"].dt == expected.on + timedelta(days=1)
        assert str(event["summary"]) == expected.summary
        assert str(event["description"]) == expected.description
        assert event["url"].startswith("https://cave.home.arpa/")
        assert event["transp"] == "TRANSPARENT"
    assert not any(event.errors for event in events(data))


def test_names_are_given_once() -> None:
    uids = [d.uid for d in days([a_plan("A"), a_plan("B", cave_id="c2")], TODAY, TODAY_AT, 200)]
    assert len(uids) == len(set(uids))


def a_day(**more: object) -> Day:
    values = {"uid": "round-c1-20250313", "on": date(2025, 3, 13), "summary": "turn 2", "changed_at": day(9)}
    return Day(**{**values, "description": "", "path": "/round", **more})


def test_a_changed_event_keeps_its_name_and_raises_its_sequence() -> None:
    # Section 3.8.7.4: SEQUENCE rises with each revision; section 3.8.7.3: LAST-MODIFIED is newer.
    before, after = (events(calendar_text([d], **NAMES))[0] for d in (a_day(), a_day(changed_at=day(10), summary="3")))
    assert before["uid"] == after["uid"]
    assert before["sequence"] < after["sequence"]
    assert before["last-modified"].dt < after["last-modified"].dt


def test_without_an_address_there_are_no_links() -> None:
    data = calendar_text([a_day()], **{**NAMES, "base_address": ""})
    assert "url" not in events(data)[0]


@pytest.fixture
def cave(db: Connection) -> Connection:
    entries = [
        new(STYLED, wheel=None, style_id=STYLE),
        new(a_wheel("A", style_id=STYLE)),
        new(moved(), place_id=SHELF),
        new(turned(), 9),
        new(a_wheel("no style"), wheel=OTHER),
    ]
    put_all(db, entries, received_at=day(9))
    return db


def fed(db: Connection, now_at: datetime) -> bytes:
    return calendar_text(feed_for(db, places(db), PARIS, now_at, 20), **NAMES)


def test_the_feed_comes_from_the_book_and_names_the_outermost_cave(cave: Connection) -> None:
    found = feed_for(cave, places(cave), PARIS, day(10), 4)
    assert [d.summary for d in found] == ["lower cellar: turn 1", "lower cellar: brush 1"]
    assert found[0].uid == f"round-{CELLAR}-20250313"


def test_a_feed_with_nothing_new_is_the_same_to_the_byte(cave: Connection) -> None:
    assert fed(cave, day(10)) == fed(cave, day(10, 5))


def test_a_turn_moves_the_next_ones_and_raises_their_sequence(cave: Connection) -> None:
    before = {e["uid"]: e["sequence"] for e in events(fed(cave, day(10)))}
    put_all(cave, [new(turned(), 10)], received_at=day(10, 1))
    after = {e["uid"]: e["sequence"] for e in events(fed(cave, day(10, 2)))}
    both = set(before) & set(after)
    assert both
    assert set(before) - set(after)
    assert all(after[uid] > before[uid] for uid in both)


class Counting(KeptByFacts[Any]):
    """Keeps, and remembers what it had to make."""

    def __init__(self) -> None:
        super().__init__()
        self.made: list[Any] = []

    def get(self, name: Hashable, facts: tuple[object, ...], make: Callable[[], Any]) -> Any:
        def noted() -> Any:
            self.made.append(name)
            return make()

        return super().get(name, facts, noted)


def kept_feed(db: Connection, now_at: datetime, kept: Counting) -> bytes:
    return calendar_text(feed_for(db, places(db), PARIS, now_at, 20, kept.get), **NAMES, keep=kept.get)


def test_what_is_kept_says_the_same_as_what_is_made_anew(cave: Connection) -> None:
    kept = Counting()
    put_all(cave, [new(a_wheel("B", style_id=STYLE), wheel=OTHER)], received_at=day(9))
    assert kept_feed(cave, day(10), kept) == fed(cave, day(10))
    put_all(cave, [new(turned(), 10)], received_at=day(10, 1))
    assert kept_feed(cave, day(10, 2), kept) == fed(cave, day(10, 2))
    assert kept_feed(cave, day(12), kept) == fed(cave, day(12))


def test_after_an_entry_only_its_wheel_is_planned_and_only_its_events_are_written(cave: Connection) -> None:
    kept = Counting()
    put_all(cave, [new(a_wheel("B", style_id=STYLE), wheel=OTHER)], received_at=day(9))
    kept_feed(cave, day(10), kept)
    put_all(cave, [new(turned(), 10)], received_at=day(10, 1))
    kept.made.clear()
    kept_feed(cave, day(10, 2), kept)
    assert {name for name in kept.made if name[0] in {"planned", "asks"}} == {("planned", WHEEL), ("asks", WHEEL)}
    assert {name for name in kept.made if name[0] == "event"}
    assert not [name for name in kept.made if "round-somewhere" in str(name[1])]  # where B stands


def test_a_secret_opens_its_persons_calendar_until_it_is_ended(db: Connection) -> None:
    first = new_feed(db, "ann", day(0))
    assert len(first) >= 43
    assert who_of(db, first, day(1)) == "ann"
    second = new_feed(db, "ann", day(2))
    assert who_of(db, first, day(3)) is None
    assert who_of(db, second, day(3)) == "ann"
    revoke_feeds(db, "ann", day(4))
    assert who_of(db, second, day(5)) is None
    assert who_of(db, "guess", day(5)) is None


def test_wheels_are_named_by_code(cave: Connection) -> None:
    found = feed_for(cave, places(cave), PARIS, day(10), 60)
    assert [d.summary for d in found if d.uid == f"ripe-{WHEEL}"] == ["A is ripe"]
