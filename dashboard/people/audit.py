"""Who changed what and when: targets, wheels, people and programs, probes; read from what each keeps of itself."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection, Row, Table, select

from collector.records import tables
from collector.records.facts import Target
from dashboard import links_to, words
from dashboard.household import Household
from dashboard.places.target_words import target_words
from dashboard.rounds.entry_words import entry_words
from dashboard.wheels import tables as book
from dashboard.wheels.book import own_words
from dashboard.wheels.entry_rows import entry_of

PAGE = 60


@dataclass(frozen=True, slots=True)
class Change:
    """One change. `on`: what was changed, by name, and its page, "" where it has none."""

    at: datetime
    by: str
    on: str
    path: str
    said: str


@dataclass(frozen=True, slots=True)
class Asking:
    """What is asked for: changes known before a time, the newest first, at most so many of each kind."""

    db: Connection
    household: Household
    before: datetime
    now_at: datetime
    limit: int

    def rows(self, table: Table, at: str) -> list[Row[Any]]:
        column = table.c[at]
        query = select(table).where(column < self.before).order_by(column.desc()).limit(self.limit)
        return list(self.db.execute(query))

    def names(self, table: Table) -> dict[str, str]:
        column = table.c.code if "code" in table.c else table.c.name
        return {row[0]: row[1] for row in self.db.execute(select(table.c.id, column))}


def _targets(asking: Asking) -> list[Change]:
    places = asking.names(tables.place)
    found = []
    for row in asking.rows(tables.target, "known_from_at"):
        target = Target(**row._mapping)
        since = words.moment(target.valid_from_at, asking.now_at, asking.household)
        again = "corrected: " if target.replaces else ""
        said = f"{again}{target_words(target, asking.household)}, from {since} on"
        name = places.get(target.place_id, "")
        found.append(Change(target.known_from_at, target.by, name, links_to.targets(target.place_id), said))
    return found


def _wheels(asking: Asking) -> list[Change]:
    own = own_words(asking.db)
    wheels, makes = asking.names(book.wheel), asking.names(book.make)
    gear, places, styles = (asking.names(table) for table in (book.gear, tables.place, book.style))
    found = []
    for row in asking.rows(book.entry, "received_at"):
        entry = entry_of(row._mapping)
        if entry.wheel_id:
            name, path = wheels.get(entry.wheel_id, ""), f"/wheels/{entry.wheel_id}"
        elif entry.make_id:
            name, path = makes.get(entry.make_id, ""), f"/makes/{entry.make_id}"
        else:
            name, path = gear.get(entry.gear_id or "") or places.get(entry.place_id or "", ""), ""
            if entry.style_id:
                name, path = styles.get(entry.style_id, ""), f"/care-plans/{entry.style_id}"
        again = "corrected: " if entry.replaces else ""
        said = again + entry_words(entry, own, asking.household)
        found.append(Change(entry.received_at, entry.who, name or "no name", path, said))
    return found


PERSON_WORDS: Mapping[str, Callable[[Mapping[str, str], Household], str]] = {
    "added": lambda f, h: f"added as {f['role']}{_days(f, h)}",
    "role": lambda f, _h: f"made {f['to']}, was {f['from']}",
    "access": lambda f, h: f"may come in{_days(f, h) or ' always'}",
    "ended": lambda _f, _h: "access ended",
    "link": lambda _f, _h: "one-time link made",
    "password": lambda _f, _h: "password set by a one-time link",
    "away": lambda f, h: f"stands in{_days(f, h)}",
    "back": lambda _f, _h: "stands in no more",
    "passkey": lambda f, _h: f"passkey {f['name']} made",
    "passkey_gone": lambda f, _h: f"passkey {f['name']} removed",
    "passkey_doubt": lambda f, _h: f"passkey {f['name']} refused: its count went backwards, as a copy's would",
}


def _days(facts: Mapping[str, str], household: Household) -> str:
    """The days of an access, with a blank before; "" for always."""
    first, last = (words.long_date(date.fromisoformat(d), household) if d else "" for d in (facts["from"], facts["to"]))
    return (f" from {first}" if first else "") + (f" until {last}" if last else "")


def _people(asking: Asking) -> list[Change]:
    names = asking.names(tables.person)
    found = [
        Change(
            row.at, row.by, names.get(row.person_id, ""), f"/settings/people/{row.person_id}",
            PERSON_WORDS[row.what](row.facts, asking.household),
        )
        for row in asking.rows(tables.person_change, "at")
    ]  # fmt: skip
    for row in asking.rows(tables.api_token, "made_at"):
        may = " and ".join(row.scopes)
        found.append(Change(row.made_at, row.made_by, f"program {row.name}", "/settings/programs", f"may {may}"))
    return found + [
        Change(row.ended_at, row.ended_by, f"program {row.name}", "/settings/programs", "ended")
        for row in asking.rows(tables.api_token, "ended_at")
    ]


def _probes(asking: Asking) -> list[Change]:
    places = asking.names(tables.place)
    found = []
    for row in asking.rows(tables.placement, "known_from_at"):
        where = f"in {places.get(row.place_id, '')}, {row.site}" if row.place_id else "taken away"
        found.append(_of_probe(row, row.probe, row.field, where, asking))
    for row in asking.rows(tables.calibration, "known_from_at"):
        said = f"checked: {row.offset:+.2f}, times {row.gain:.3f}"
        found.append(_of_probe(row, row.probe, row.field, said, asking))
    for row in asking.rows(tables.field_setting, "known_from_at"):
        said = "left out" if row.ignored else f"measures {row.quantity or 'nothing known'} {row.unit}".rstrip()
        found.append(_of_probe(row, row.probe, row.field, said, asking))
    for row in asking.rows(tables.lead, "known_from_at"):
        place = places.get(row.place_id, "")
        said = f"speaks for {place}" if row.probe else f"no probe speaks alone for {place}"
        found.append(_of_probe(row, row.probe or place, None, said, asking))
    return found


def _of_probe(row: Row[Any], probe: str, field: str | None, said: str, asking: Asking) -> Change:
    since = words.moment(row.valid_from_at, asking.now_at, asking.household)
    return Change(
        row.known_from_at, row.by, f"{probe} {field}" if field else probe, links_to.probe(probe),
        f"{said}, from {since} on",
    )  # fmt: skip


KINDS: Mapping[str, tuple[str, Callable[[Asking], list[Change]]]] = {
    "targets": ("Targets", _targets),
    "wheels": ("Wheels", _wheels),
    "people": ("People", _people),
    "probes": ("Probes", _probes),
}


def changes(db: Connection, household: Household, kind: str, before: datetime, now_at: datetime) -> list[Change]:
    """One more than a page of changes known before a time, the newest first.

    Args:
        kind: one of KINDS, or "" for all.
    """
    asking = Asking(db, household, before, now_at, PAGE + 1)
    chosen = [KINDS[kind]] if kind in KINDS else KINDS.values()
    found = [change for _word, of in chosen for change in of(asking)]
    return sorted(found, key=lambda change: change.at, reverse=True)[: PAGE + 1]
