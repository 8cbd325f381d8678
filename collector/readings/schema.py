"""The form of the readings database, and how an older one is brought up to it."""

import sqlite3
from pathlib import Path

from collector.errors import SchemaMissing, SchemaOlder, SchemaTooNew
from collector.readings.older import Remembering

# Each script brings the database from the version before to its place in the list (from 1).
# A released script is never edited; a change is a new script.
SCRIPTS = [
    """
    CREATE TABLE unit (id INTEGER PRIMARY KEY, code TEXT NOT NULL UNIQUE);
    CREATE TABLE probe (
        name TEXT PRIMARY KEY, topic TEXT NOT NULL, first_ms INTEGER NOT NULL, last_ms INTEGER NOT NULL,
        messages INTEGER NOT NULL, state TEXT NOT NULL DEFAULT '', state_ms INTEGER,
        at_latest_every_s REAL, facts TEXT NOT NULL DEFAULT '{}') WITHOUT ROWID;
    CREATE TABLE channel (
        id INTEGER PRIMARY KEY, probe TEXT NOT NULL, field TEXT NOT NULL, quantity TEXT, unit TEXT NOT NULL,
        first_ms INTEGER NOT NULL, UNIQUE (probe, field));
    -- lag_ms is arrived minus taken: small, so that the row stays small.
    CREATE TABLE reading (
        channel INTEGER NOT NULL, taken_ms INTEGER NOT NULL, value REAL NOT NULL, unit INTEGER NOT NULL,
        lag_ms INTEGER NOT NULL, mark INTEGER NOT NULL, PRIMARY KEY (channel, taken_ms)) WITHOUT ROWID;
    CREATE TABLE rollup (
        channel INTEGER NOT NULL, start_ms INTEGER NOT NULL, unit INTEGER NOT NULL, count INTEGER NOT NULL,
        low REAL NOT NULL, high REAL NOT NULL, mean REAL NOT NULL, covered_ms INTEGER NOT NULL,
        PRIMARY KEY (channel, start_ms, unit)) WITHOUT ROWID;
    CREATE TABLE change (
        seq INTEGER PRIMARY KEY AUTOINCREMENT, channel INTEGER, from_ms INTEGER NOT NULL, to_ms INTEGER NOT NULL,
        cause TEXT NOT NULL);
    CREATE TABLE consumer (name TEXT PRIMARY KEY, seq INTEGER NOT NULL) WITHOUT ROWID;
    CREATE TABLE sequence (
        probe TEXT NOT NULL, boot TEXT NOT NULL, from_seq INTEGER NOT NULL, to_seq INTEGER NOT NULL,
        PRIMARY KEY (probe, boot, from_seq)) WITHOUT ROWID;
    -- Messages without a time of their own whose acknowledgement may not have reached the broker, in order.
    CREATE TABLE flight (id INTEGER PRIMARY KEY AUTOINCREMENT, topic TEXT NOT NULL, digest BLOB NOT NULL);
    CREATE TABLE last_message (
        probe TEXT NOT NULL, slot INTEGER NOT NULL, topic TEXT NOT NULL, payload BLOB NOT NULL,
        arrived_ms INTEGER NOT NULL, PRIMARY KEY (probe, slot)) WITHOUT ROWID;
    CREATE TABLE reject (
        id INTEGER PRIMARY KEY AUTOINCREMENT, topic TEXT NOT NULL, reason TEXT NOT NULL, payload BLOB NOT NULL,
        first_ms INTEGER NOT NULL, last_ms INTEGER NOT NULL, count INTEGER NOT NULL, UNIQUE (topic, reason));
    CREATE TABLE counter (name TEXT PRIMARY KEY, n INTEGER NOT NULL) WITHOUT ROWID;
    CREATE TABLE taken_in (digest TEXT PRIMARY KEY, name TEXT NOT NULL, rows INTEGER NOT NULL,
        refused INTEGER NOT NULL, done_ms INTEGER NOT NULL) WITHOUT ROWID;
    """,
    """
    -- Rollups of ten days at a time in one value; NULL until they have been packed. See packs.py.
    CREATE TABLE pack (channel INTEGER NOT NULL, block INTEGER NOT NULL, data BLOB, UNIQUE (channel, block));
    CREATE INDEX pack_due ON pack (block) WHERE data IS NULL;
    INSERT INTO pack (channel, block) SELECT DISTINCT channel, start_ms/864000000 FROM rollup;
    """,
    """
    -- What the follower has still to copy, both ends included; raw 0: only the rollups. See follower/ledger.py.
    CREATE TABLE owed (
        id INTEGER PRIMARY KEY AUTOINCREMENT, channel INTEGER NOT NULL, from_ms INTEGER NOT NULL,
        to_ms INTEGER NOT NULL, raw INTEGER NOT NULL);
    CREATE INDEX owed_channel ON owed (channel);
    -- Rollups that the follower may have copied and that are no more.
    CREATE TABLE vanished (
        channel INTEGER NOT NULL, start_ms INTEGER NOT NULL, unit INTEGER NOT NULL,
        PRIMARY KEY (channel, start_ms, unit)) WITHOUT ROWID;
    -- Points that the follower's database refuses for good, the newest few hundred.
    CREATE TABLE set_aside (
        id INTEGER PRIMARY KEY AUTOINCREMENT, line TEXT NOT NULL, reason TEXT NOT NULL, at_ms INTEGER NOT NULL);
    """,
    """
    -- Times that hold for the whole file: from when on readings are kept one by one. See raw_from.py.
    CREATE TABLE bound (name TEXT PRIMARY KEY, ms INTEGER NOT NULL) WITHOUT ROWID;
    """,
    """
    -- Standard deviation within the ten minutes, by time; NULL in rollups from before. Packs have it too and are due.
    ALTER TABLE rollup ADD COLUMN spread REAL;
    UPDATE pack SET data=NULL;
    """,
]
VERSION = len(SCRIPTS)


def open_writer(path: Path) -> sqlite3.Connection:
    """The collector's connection: write-ahead log, every commit synced before it counts."""
    db = sqlite3.connect(path, isolation_level=None, timeout=10, check_same_thread=False)
    # Of a new file only: an older one would have to be written anew to be able to give room back.
    db.execute("PRAGMA auto_vacuum=INCREMENTAL")
    db.execute("PRAGMA journal_mode=WAL")
    db.execute("PRAGMA synchronous=FULL")
    db.execute("PRAGMA wal_autocheckpoint=2000")
    db.execute("PRAGMA temp_store=MEMORY")
    migrate(db, path)
    return db


def open_reader(path: Path) -> Remembering:
    """A connection that can only read; several may be open beside the writer.

    Raises:
        SchemaMissing: no start has prepared the file yet.
        SchemaTooNew: a newer version wrote it. SchemaOlder: an older one did, and no start has brought it up yet.
    """
    if not path.exists():
        raise SchemaMissing(path)
    db = sqlite3.connect(
        f"{path.absolute().as_uri()}?mode=ro",
        uri=True,
        isolation_level=None,
        timeout=10,
        check_same_thread=False,
        factory=Remembering,
    )
    found = version(db)
    if found < VERSION:
        db.close()
        raise SchemaOlder(path, str(found), str(VERSION)) if found else SchemaMissing(path)
    refuse_newer(db, path)
    return db


def version(db: sqlite3.Connection) -> int:
    return int(db.execute("PRAGMA user_version").fetchone()[0])


def refuse_newer(db: sqlite3.Connection, path: Path) -> None:
    found = version(db)
    if found > VERSION:
        db.close()
        raise SchemaTooNew(path, str(found), str(VERSION))


def migrate(db: sqlite3.Connection, path: Path) -> None:
    """Bring the file up to the newest form, one script a transaction."""
    refuse_newer(db, path)
    for number in range(version(db) + 1, VERSION + 1):
        db.executescript(f"BEGIN IMMEDIATE; {SCRIPTS[number - 1]} PRAGMA user_version={number}; COMMIT;")
