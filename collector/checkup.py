"""What `rindwatch check` looks at, each with an answer in plain words."""

import os
import shutil
import sqlite3
import subprocess
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from threading import Event

from paho.mqtt.client import Client
from paho.mqtt.enums import CallbackAPIVersion, MQTTProtocolVersion
from sqlalchemy import inspect

from collector.backup import second_place
from collector.copies import SECOND, TRIAL, copies, first_folder, made_at, wanted
from collector.errors import CaveError, SchemaMissing
from collector.intake.address import BrokerAddress, broker_address
from collector.readings.follower.look import SETUP, bucket_there, bucket_trouble, progress_words
from collector.readings.follower.settings import read_follower_settings
from collector.readings.schema import open_reader
from collector.records.engine import open_prepared, reading
from collector.records.life import Sign, signs
from collector.settings import Settings

LOW_BYTES = 500_000_000  # our choice: about half a year of a home's readings
LOW_SHARE = 0.05
COPY_OLD_D = 2
SILENT_S = 60


@dataclass(frozen=True, slots=True)
class Answer:
    """One line: what was looked at, whether it is well, and what to do if not."""

    about: str
    well: bool
    says: str
    hint: str = ""


def look_at(settings: Settings) -> Iterator[Answer]:
    """Look at settings, disk, readings, records, broker, collector, clock, copies and follower, one after the other."""
    yield Answer("settings", True, f"the data folder is {settings.data}")
    for about, look in LOOKS:
        try:
            yield look(settings)
        except CaveError as error:
            yield Answer(about, False, str(error), error.hint)


def disk(settings: Settings) -> Answer:
    if not settings.data.is_dir():
        return Answer("disk", False, f"{settings.data} is not there", "Start rindwatch once; it makes the folder.")
    if not os.access(settings.data, os.W_OK):
        return Answer("disk", False, f"{settings.data} cannot be written by this user", "Mend the folder's owner.")
    usage = shutil.disk_usage(settings.data)
    low = usage.free < LOW_BYTES or usage.free < LOW_SHARE * usage.total
    says = f"{usage.free / 1e9:.1f} GB free of {usage.total / 1e9:.0f} GB"
    return Answer("disk", not low, says, "Free space; readings stop being kept when it is full." if low else "")


def readings(settings: Settings) -> Answer:
    with closing(open_reader(settings.readings_path)) as db:
        verdict = db.execute("PRAGMA quick_check(1)").fetchone()[0]
        number = db.execute("SELECT count(*) FROM channel").fetchone()[0]
        newest = db.execute("SELECT max(last_ms) FROM probe").fetchone()[0]
    if verdict != "ok":
        return Answer("readings", False, f"the file is damaged: {verdict}", "Restore the newest copy.")
    heard = "none yet" if newest is None else f"{_ago((time.time() * 1_000 - newest) / 1_000)} ago"
    return Answer("readings", True, f"{number} channels, last message {heard}; SQLite {sqlite3.sqlite_version}")


def records(settings: Settings) -> Answer:
    engine = open_prepared(settings.records_at)
    try:
        with reading(engine) as connection:
            tables = inspect(connection).get_table_names()
    finally:
        engine.dispose()
    return Answer("records", True, f"{len(tables)} tables at {engine.url.render_as_string(hide_password=True)}")


def broker(settings: Settings) -> Answer:
    if not settings.broker and not settings.data.is_dir():
        raise SchemaMissing(settings.data)  # asking for the password would make the folder
    address = broker_address(settings)
    trouble = knock(address)
    hint = "Start the broker, or mend RINDWATCH_BROKER and its user and password."
    return Answer("broker", not trouble, trouble or f"{address} lets us in", hint if trouble else "")


def knock(address: BrokerAddress, patience_s: float = 5) -> str:
    """Try to connect; returns what is wrong, or nothing."""
    answered = Event()
    said: list[str] = []
    protocol = MQTTProtocolVersion.MQTTv5 if address.version == "5" else MQTTProtocolVersion.MQTTv311
    client = Client(CallbackAPIVersion.VERSION2, protocol=protocol)
    if address.user is not None:
        client.username_pw_set(address.user, address.password.get_secret_value() if address.password else None)
    if address.tls:
        client.tls_set(ca_certs=str(address.ca_file) if address.ca_file else None)

    def on_connect(_client: object, _data: object, _flags: object, reason: object, _properties: object) -> None:
        said.append(f"{address} refuses us: {reason}" if getattr(reason, "is_failure", False) else "")
        answered.set()

    client.on_connect = on_connect
    client.on_disconnect = lambda *_: answered.set()
    try:
        client.connect(address.host, address.port, keepalive=10)
    except (OSError, ValueError) as error:
        return f"no answer from {address}: {error}"
    client.loop_start()
    answered.wait(patience_s)
    client.disconnect()
    client.loop_stop()
    return said[0] if said else f"{address} refuses us or does not speak MQTT"


def collector(settings: Settings) -> Answer:
    sign = _sign(settings, "collector")
    if sign is None:
        return Answer("collector", False, "has never run here", "Start rindwatch serve.")
    age_s = (datetime.now(UTC) - sign.at).total_seconds()
    if age_s > SILENT_S:
        return Answer("collector", False, f"silent for {_ago(age_s)}", "Start rindwatch serve, or look at its log.")
    state = sign.facts.get("broker")
    return Answer("collector", state == "connected", f"runs; the broker is {state}")


def clock(_settings: Settings) -> Answer:
    """Whether the machine's time is kept by somebody; without that, times of readings cannot be trusted."""
    if shutil.which("timedatectl") is None:
        return Answer("clock", True, f"{datetime.now(UTC):%Y-%m-%d %H:%M} UTC (nothing here tells who keeps it right)")
    command = ["timedatectl", "show", "--property=NTPSynchronized", "--value"]
    found = subprocess.run(command, capture_output=True, text=True, timeout=10, check=False)
    if found.stdout.strip() == "no":
        hint = "Turn on network time: sudo timedatectl set-ntp true"
        return Answer("clock", False, f"{datetime.now(UTC):%Y-%m-%d %H:%M} UTC, not kept by network time", hint)
    return Answer("clock", True, f"{datetime.now(UTC):%Y-%m-%d %H:%M} UTC")


def copy(settings: Settings) -> Answer:
    second = _second(settings)
    if not wanted(settings, second):
        hint = "Name a place for copies under More, Settings, Copies: another disk or another machine."
        return Answer("copy", False, "no nightly copy is made", hint)
    folder = first_folder(settings, second)
    found = copies(folder) if folder.is_dir() else []
    newest_at = made_at(found[-1]) if found else None
    if newest_at is None:
        return Answer("copy", False, f"no copy in {folder} yet", "It is made at three in the morning.")
    age_s = time.time() - newest_at.timestamp()
    well = age_s < COPY_OLD_D * 86_400
    hint = "" if well else "Look at the folder: is the disk there, has it space?"
    return Answer("copy", well, f"the newest is {_ago(age_s)} old: {found[-1].name}", hint)


def second_copy(settings: Settings) -> Answer:
    """Whether the newest copy has reached the second place."""
    second = _second(settings)
    if not second and not settings.copy_command:
        hint = "Name one under More, Settings, Copies: if this house's disk dies, so may the copies on it."
        return Answer("second place", True, "none is named", hint if settings.backup_folder else "")
    sign = _sign(settings, SECOND)
    if sign is None:
        return Answer("second place", True, "nothing was sent there yet")
    reason = sign.facts.get("reason")
    if reason:
        return Answer("second place", False, str(reason), "The copy here is whole; the next one is sent there again.")
    return Answer("second place", True, f"{sign.facts.get('where')} took a copy {_since(sign)} ago")


def restoring(settings: Settings) -> Answer:
    """What the last trial of restoring a copy found."""
    sign = _sign(settings, TRIAL)
    if sign is None:
        return Answer("restoring", True, "no copy was tried yet; it is done each month")
    if not sign.facts.get("well"):
        hint = "Make a new copy with rindwatch copy, and try again with rindwatch restore --try."
        return Answer("restoring", False, f"{_since(sign)} ago a copy failed: {sign.facts.get('reason')}", hint)
    told = sign.facts
    says = f"{_since(sign)} ago {told.get('file')} was restored on trial: {told.get('readings')} readings,"
    return Answer("restoring", True, f"{says} {told.get('tables')} tables and {told.get('photos')} photos as they were")


def _since(sign: Sign) -> str:
    return _ago((datetime.now(UTC) - sign.at).total_seconds())


def _second(settings: Settings) -> second_place.SecondPlace:
    engine = open_prepared(settings.records_at)
    try:
        with reading(engine) as connection:
            return second_place.load(connection)
    finally:
        engine.dispose()


def follower(settings: Settings) -> Answer:
    """The database that follows, if the settings name one."""
    own = read_follower_settings()
    if not own.is_on:
        return Answer("follower", True, "none; readings are kept here alone")
    trouble = bucket_trouble(own, bucket_there(own))
    if trouble:
        return Answer("follower", False, trouble, SETUP)
    sign = _sign(settings, "follower")
    well, says = progress_words(sign.facts if sign else None)
    hint = "" if well else "Readings are kept here; look at the collector's log if this stays."
    return Answer("follower", well, f"{own.influx_url}: {says}", hint)


def alive(settings: Settings) -> Answer:
    """The collector alone, without touching broker or readings: quick enough to be asked each minute."""
    return collector(settings)


def _sign(settings: Settings, part: str) -> Sign | None:
    try:
        engine = open_prepared(settings.records_at)
    except SchemaMissing:
        return None
    try:
        with reading(engine) as connection:
            return signs(connection).get(part)
    finally:
        engine.dispose()


def _ago(seconds: float) -> str:
    for size, word in ((86_400, "days"), (3_600, "hours"), (60, "minutes")):
        if seconds >= 2 * size:
            return f"{seconds / size:.0f} {word}"
    return f"{max(0, seconds):.0f} seconds"


LOOKS: list[tuple[str, Callable[[Settings], Answer]]] = [
    ("disk", disk),
    ("readings", readings),
    ("records", records),
    ("broker", broker),
    ("collector", collector),
    ("clock", clock),
    ("copy", copy),
    ("second place", second_copy),
    ("restoring", restoring),
    ("follower", follower),
]
