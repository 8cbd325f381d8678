"""Taking in what a person entered: stored once, never refused for what the wheel has been through meanwhile."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator
from sqlalchemy import Connection, insert, select

from collector.errors import EntryRefused
from collector.records.columns import to_ms
from dashboard.wheels import tables
from dashboard.wheels.bodies.base import At, NewId, Ref
from dashboard.wheels.entry_kinds import ENTRY_KINDS, AnyBody
from dashboard.wheels.entry_rows import handfuls
from dashboard.wheels.refresh import Touched, lock, refresh

Outcome = Literal["stored", "same", "conflict"]
Row = dict[str, Any]
REFS = ("wheel_id", "make_id", "place_id", "gear_id", "style_id")
SKEW_THAT_COUNTS = timedelta(minutes=2)  # below it lies the way through the network; our choice
CLOCK_SLACK = timedelta(minutes=5)
OLDEST = datetime(2000, 1, 1, tzinfo=UTC)


class NewEntry(BaseModel):
    """An entry as a phone sends it.

    `done_at` and `sent_at` are by the phone's clock; `typed_time`: the person typed when it was, and meant it.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    id: NewId
    wheel_id: Ref | None = None
    make_id: Ref | None = None
    place_id: Ref | None = None
    gear_id: Ref | None = None
    style_id: Ref | None = None
    group_id: Ref | None = None
    done_at: At
    sent_at: At | None = None
    zone: Annotated[str, Field(max_length=64)] = ""
    typed_time: bool = False
    replaces: Ref | None = None
    body: AnyBody

    @model_validator(mode="after")
    def _about_something(self) -> Self:
        for name in ENTRY_KINDS[self.kind].about:
            if getattr(self, name) is None:
                raise ValueError(f"a {self.kind} needs {name}")
        if self.kind == "withdrawn" and self.replaces is None:
            raise ValueError("an undoing needs replaces")
        if self.replaces == self.id:
            raise ValueError("an entry cannot replace itself")
        return self

    @property
    def kind(self) -> str:
        kind: str = self.body.kind
        return kind


@dataclass(frozen=True, slots=True)
class Stored:
    """What became of an entry: "stored", "same" (it was here already) or "conflict" (its id has other content)."""

    id: str
    outcome: Outcome
    flags: tuple[str, ...] = ()


def read_entry(sent: Any) -> NewEntry:
    """An entry from what a phone sent.

    Raises:
        EntryRefused: it has not the form of an entry; names the field, and what stood there.
    """
    try:
        return NewEntry.model_validate(sent)
    except ValidationError as error:
        first = error.errors(include_url=False, include_context=False)[0]
        field = ".".join(str(part) for part in first["loc"]) or "entry"
        raise EntryRefused(field, f"{field}: {_sentence(first)}") from error


def _sentence(first: Any) -> str:
    said = first["msg"].removeprefix("Value error, ")
    value = first.get("input")
    if isinstance(value, str | int | float) and not isinstance(value, bool):
        return f"{said}, got {str(value)[:60]}"
    return str(said)


def put(connection: Connection, new: NewEntry, *, received_at: datetime, who: str = "") -> Stored:
    """Keep one entry; see `put_all`."""
    return put_all(connection, [new], received_at=received_at, who=who)[0]


def put_all(connection: Connection, news: Sequence[NewEntry], *, received_at: datetime, who: str = "") -> list[Stored]:
    """Keep entries in their order, each once however often it is sent, and bring what they touch up to date.

    Args:
        connection: in a transaction of its own; nothing is kept if it is rolled back.
        news: as the phone made them.
        received_at: our clock. who: the person who is signed in.
    Nothing is refused for the state of a wheel; what is odd is flagged, and the flags come back.
    """
    lock(connection)
    rows = [_row(new, received_at, who) for new in news]
    outcomes, fresh = _sorted_out(connection, rows)
    for some in handfuls(fresh):
        connection.execute(insert(tables.entry), some)
    refresh(connection, _touched(connection, fresh))
    flags = _flags(connection, [row["id"] for row in rows])
    return [Stored(row["id"], outcome, flags[row["id"]]) for row, outcome in zip(rows, outcomes, strict=True)]


def _sorted_out(connection: Connection, rows: list[Row]) -> tuple[list[Outcome], list[Row]]:
    """What becomes of each row, and those that are new; nobody else writes meanwhile, the book is locked."""
    known = _digests(connection, [row["id"] for row in rows])
    outcomes: list[Outcome] = []
    fresh: list[Row] = []
    for row in rows:
        here = known.get(row["id"])
        if here is None:
            known[row["id"]] = row["digest"]
            fresh.append(row)
            outcomes.append("stored")
        else:
            outcomes.append("same" if here == row["digest"] else "conflict")
    return outcomes, fresh


def _digests(connection: Connection, ids: list[str]) -> dict[str, str]:
    found: dict[str, str] = {}
    for some in handfuls(ids):
        rows = connection.execute(select(tables.entry.c.id, tables.entry.c.digest).where(tables.entry.c.id.in_(some)))
        found |= {row.id: row.digest for row in rows}
    return found


def _touched(connection: Connection, fresh: list[Row]) -> Touched:
    """What new entries are about, what they replace, and the entries that correct them or the same as they do."""
    c = tables.entry.c
    touched = Touched()
    touched.add(*fresh)
    replaced = [row["replaces"] for row in fresh if row["replaces"]]
    for some in handfuls(replaced):
        rows = connection.execute(select(tables.entry).where(c.id.in_(some))).mappings()
        touched.add(*(dict(row) for row in rows))
    for some in handfuls([*(row["id"] for row in fresh), *replaced]):
        rows = connection.execute(select(tables.entry).where(c.replaces.in_(some))).mappings()
        touched.add(*(dict(row) for row in rows))
    return touched


def _row(new: NewEntry, received_at: datetime, who: str) -> Row:
    happened_at, flags = when_it_happened(new.done_at, new.sent_at, received_at, typed=new.typed_time)
    return {
        **{name: getattr(new, name) for name in ("id", *REFS, "group_id", "zone", "typed_time", "replaces")},
        "who": who,
        "happened_at": happened_at,
        "done_at": new.done_at,
        "sent_at": new.sent_at,
        "received_at": received_at,
        **row_digest(new),
        "flags": flags,
    }


def body_json(new: NewEntry) -> dict[str, Any]:
    """The body as it is kept: only what was said, so that a sheet's blanks stay blank."""
    said: dict[str, Any] = new.body.model_dump(mode="json", exclude_unset=True)
    return said


def row_digest(new: NewEntry) -> dict[str, Any]:
    """What the book keeps of an entry beside the columns that say where it belongs."""
    body = body_json(new)
    return {"kind": new.kind, "body": body, "digest": digest(new, body)}


def digest(new: NewEntry, body: dict[str, Any]) -> str:
    """A fingerprint of what the person said; sending it again, later and by another clock, does not change it."""
    said = {name: getattr(new, name) for name in (*REFS, "group_id", "zone", "typed_time", "replaces")}
    text = json.dumps([new.kind, said, to_ms(new.done_at), body], sort_keys=True, separators=(",", ":"))
    return sha256(text.encode()).hexdigest()


def when_it_happened(
    done_at: datetime, sent_at: datetime | None, received_at: datetime, *, typed: bool = False
) -> tuple[datetime, list[str]]:
    """The best estimate of when something was done, and the flags that say what was made of the phone's clock.

    Args:
        done_at: by the phone's clock, or typed by the person.
        sent_at: the phone's clock when it sent; with ours it gives the skew.
        received_at: our clock.
        typed: the person typed the time, so the phone's clock has no part in it.
    """
    skew = received_at - sent_at if sent_at is not None and not typed else timedelta(0)
    flags = []
    if abs(skew) > SKEW_THAT_COUNTS:
        done_at += skew
        flags.append("clock_mended")
    if done_at < OLDEST:
        return received_at, ["clock_wrong"]
    if done_at > received_at + CLOCK_SLACK:
        return received_at, ["clock_ahead"]
    return min(done_at, received_at), flags


def _flags(connection: Connection, ids: list[str]) -> dict[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {}
    for some in handfuls(ids):
        rows = connection.execute(select(tables.entry.c.id, tables.entry.c.flags).where(tables.entry.c.id.in_(some)))
        found |= {row.id: tuple(row.flags) for row in rows}
    return found
