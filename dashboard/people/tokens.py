"""Tokens with which programs use the API: each for a few things only, kept as a digest, seen and ended by the owner."""

import secrets
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal, get_args

from sqlalchemy import Connection, Engine, RowMapping, insert, select, update

from collector.clock import Clock
from collector.errors import EntryRefused
from collector.records.columns import new_id
from collector.records.engine import reading
from collector.records.tables import api_token
from dashboard.people.sessions import digest

Scope = Literal["read", "write", "export"]
SCOPES: tuple[Scope, ...] = get_args(Scope)
WHAT: Mapping[Scope, str] = {
    "read": "Read places, their air, probes and warnings",
    "export": "Fetch readings and air as tables",
    "write": "Hand in readings of one probe",
}
BEGINS = "rindwatch_"  # so that a token that strayed into a file is recognised by people and scanners
LONGEST_NAME, LONGEST_PROBE = 60, 100
MOST = 50
NOTED_EVERY = timedelta(minutes=10)  # how exactly the last use is known; each note is a write to the disk


@dataclass(frozen=True, slots=True)
class Token:
    """What a program may do. `probe`: the only one whose readings it may hand in."""

    id: str
    name: str
    scopes: frozenset[Scope]
    probe: str | None
    made_at: datetime
    made_by: str
    last_used_at: datetime | None
    ended_at: datetime | None

    def may(self, scope: Scope | None) -> bool:
        """True for one of its scopes; None stands for any."""
        return scope is None or scope in self.scopes


def make(db: Connection, name: str, scopes: Collection[str], probe: str, by: str, now_at: datetime) -> str:
    """A new token, inside the caller's transaction. It is returned here and can be had nowhere else.

    Raises:
        EntryRefused: the first field that cannot be taken.
    """
    name, probe = " ".join(name.split()), probe.strip()
    _check_name(db, name)
    taken = [scope for scope in SCOPES if scope in scopes]
    if not taken:
        raise EntryRefused("scopes", "Choose at least one thing that it may do.")
    if "write" in taken:
        check_probe(probe)
    token = BEGINS + secrets.token_urlsafe(32)
    row = {
        "id": new_id(), "token_hash": digest(token), "name": name, "scopes": taken,
        "probe": probe if "write" in taken else None, "made_at": now_at, "made_by": by,
    }  # fmt: skip
    db.execute(insert(api_token), [row])
    return token


def _check_name(db: Connection, name: str) -> None:
    if not 0 < len(name) <= LONGEST_NAME or not name.isprintable():
        raise EntryRefused("name", f"Take 1 to {LONGEST_NAME} characters that can be seen; this has {len(name)}.")
    held = [token.name for token in tokens(db) if token.ended_at is None]
    if name in held:
        raise EntryRefused("name", f"There is a token {name} already; end it first, or take another name.")
    if len(held) >= MOST:
        raise EntryRefused("name", f"At most {MOST} tokens are held at once; end one that is not used.")


def check_probe(probe: str) -> None:
    """Is this a name that a probe of ours can have on its topic?

    Raises:
        EntryRefused: it is blank, too long, or has a sign that parts or matches topics.
    """
    if not 0 < len(probe) <= LONGEST_PROBE:
        got = f"this has {len(probe)}"
        raise EntryRefused("probe", f"Name the probe, 1 to {LONGEST_PROBE} characters; {got}.")
    if probe == "-" or not probe.isprintable() or set(probe) & set("/+# "):
        raise EntryRefused("probe", "A probe's name has no blank, slash, plus or hash, and is not - alone.")


def tokens(db: Connection) -> list[Token]:
    """Every token that there ever was, the newest first."""
    rows = db.execute(select(api_token).order_by(api_token.c.made_at.desc(), api_token.c.id.desc())).mappings()
    return [_token(row) for row in rows]


def end(db: Connection, token_id: str, by: str, now_at: datetime) -> str | None:
    """End a token now; returns its name, None when there is none in use of that id."""
    own = (api_token.c.id == token_id) & api_token.c.ended_at.is_(None)
    name = db.execute(select(api_token.c.name).where(own)).scalar()
    db.execute(update(api_token).where(own).values(ended_at=now_at, ended_by=by))
    return None if name is None else str(name)


def find(engine: Engine, shown: str, clock: Clock) -> Token | None:
    """The token that a program shows, while it is not ended; notes the use."""
    own = (api_token.c.token_hash == digest(shown)) & api_token.c.ended_at.is_(None)
    with reading(engine) as db:
        row = db.execute(select(api_token).where(own)).mappings().one_or_none()
    if row is None:
        return None
    now_at = clock.now()
    if row["last_used_at"] is None or now_at - row["last_used_at"] >= NOTED_EVERY:
        with engine.begin() as db:
            db.execute(update(api_token).where(own).values(last_used_at=now_at))
    return _token(row)


def _token(row: RowMapping) -> Token:
    names = ("id", "name", "probe", "made_at", "made_by", "last_used_at", "ended_at")
    values = {name: row[name] for name in names}
    return Token(scopes=frozenset(row["scopes"]), **values)
