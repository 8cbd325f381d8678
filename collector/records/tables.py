"""The tables of the records. Facts with a date are only added: each holds from one time and is known from another."""

from sqlalchemy import (
    JSON,
    BigInteger,
    Boolean,
    Column,
    Float,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
)

from collector.records.columns import Utc

metadata = MetaData()


def _dated() -> list[Column[object]]:
    """Columns of a fact that holds from a time on and is known from a time on; a correction names what it replaces."""
    return [
        Column("id", String(36), primary_key=True),
        Column("valid_from_at", Utc, nullable=False),
        Column("known_from_at", Utc, nullable=False),
        Column("replaces", String(36)),
        Column("by", String(80), nullable=False, default=""),
    ]


place = Table(
    "place",
    metadata,
    Column("id", String(36), primary_key=True),
    Column("name", String(80), nullable=False),
    Column("kind", String(20), nullable=False),
    Column("parent_id", String(36), ForeignKey("place.id")),
    Column("position", Integer, nullable=False, default=0),
    Column("assumed_temperature_c", Float),
    Column("assumed_humidity_pct", Float),
    Column("closed_at", Utc),
)

target = Table(
    "target",
    metadata,
    *_dated(),
    Column("place_id", String(36), ForeignKey("place.id"), nullable=False),
    Column("resting", Boolean, nullable=False, default=False),
    Column("temperature_low_c", Float),
    Column("temperature_high_c", Float),
    Column("humidity_low_pct", Float),
    Column("humidity_high_pct", Float),
    Column("grace_min", Integer, nullable=False, default=120),
    Column("preset", String(40), nullable=False, default=""),
    Index("target_place", "place_id", "valid_from_at"),
)

placement = Table(
    "placement",
    metadata,
    *_dated(),
    Column("probe", String(200), nullable=False),
    Column("field", String(200)),
    Column("place_id", String(36), ForeignKey("place.id")),
    Column("site", String(10), nullable=False),
    Index("placement_probe", "probe", "valid_from_at"),
)

lead = Table(
    "lead",
    metadata,
    *_dated(),
    Column("place_id", String(36), ForeignKey("place.id"), nullable=False),
    Column("probe", String(200)),
)

calibration = Table(
    "calibration",
    metadata,
    *_dated(),
    Column("probe", String(200), nullable=False),
    Column("field", String(200), nullable=False),
    Column("offset", Float, nullable=False),
    Column("gain", Float, nullable=False),
    Column("uncertainty", Float, nullable=False),
    Column("method", String(40), nullable=False),
    Column("points", JSON, nullable=False),
    Index("calibration_probe", "probe", "valid_from_at"),
)

field_setting = Table(
    "field_setting",
    metadata,
    *_dated(),
    Column("probe", String(200), nullable=False),
    Column("field", String(200), nullable=False),
    Column("quantity", String(40)),
    Column("unit", String(20), nullable=False, default=""),
    Column("ignored", Boolean, nullable=False, default=False),
)

probe_setting = Table(
    "probe_setting",
    metadata,
    Column("probe", String(200), primary_key=True),
    Column("name", String(80), nullable=False, default=""),
    Column("at_latest_every_s", Float),
    Column("time_pointer", String(200), nullable=False, default=""),
    Column("time_form", String(10), nullable=False, default=""),
    Column("temperature_u_k", Float),
    Column("humidity_u_pct", Float),
    Column("dismissed_at", Utc),
)

typed_reading = Table(
    "typed_reading",
    metadata,
    Column("id", String(36), primary_key=True),
    Column("place_id", String(36), ForeignKey("place.id"), nullable=False),
    Column("instrument", String(80), nullable=False),
    Column("temperature_c", Float),
    Column("humidity_pct", Float),
    Column("replaces", String(36)),
    Column("who", String(36), nullable=False, default=""),
    Column("done_at", Utc, nullable=False),
    Column("received_at", Utc, nullable=False),
    Column("seq", Integer, nullable=False, index=True),
)

fact_change = Table(
    "fact_change",
    metadata,
    Column("seq", Integer, primary_key=True, autoincrement=True),
    Column("cause", String(20), nullable=False),
    Column("probe", String(200)),
    Column("place_id", String(36)),
    Column("from_at", Utc, nullable=False),
    sqlite_autoincrement=True,
)

warning = Table(
    "warning",
    metadata,
    Column("id", String(36), primary_key=True),
    Column("rule", String(40), nullable=False),
    Column("place_id", String(36)),
    Column("probe", String(200)),
    Column("field", String(200)),
    Column("severity", String(10), nullable=False),
    Column("opened_at", Utc, nullable=False),
    Column("cleared_at", Utc),
    Column("found_at", Utc, nullable=False),
    Column("found_late", Boolean, nullable=False, default=False),
    Column("withdrawn_at", Utc),
    Column("facts", JSON, nullable=False),
    Column("seen_at", Utc),
    Column("seen_by", String(80)),
    Column("judged", String(10)),
    Column("judged_by", String(80)),
    Index("warning_subject", "rule", "place_id", "probe", "opened_at"),
    Index("warning_open", "cleared_at"),
)

outbox = Table(
    "outbox",
    metadata,
    Column("id", String(36), primary_key=True),
    Column("warning_id", String(36), ForeignKey("warning.id")),
    Column("kind", String(20), nullable=False),
    Column("channel", String(80), nullable=False),
    Column("title", Text, nullable=False),
    Column("body", Text, nullable=False),
    Column("path", String(200), nullable=False, default=""),
    Column("created_at", Utc, nullable=False),
    Column("next_at", Utc, nullable=False),
    Column("attempts", Integer, nullable=False, default=0),
    Column("sent_at", Utc),
    Column("given_up_at", Utc),
    Column("trouble", Text, nullable=False, default=""),
    Column("severity", String(10), nullable=False, default="warn", server_default="warn"),
    Column("group_key", String(260), nullable=False, default="", server_default=""),
    Column("thread", String(36), nullable=False, default="", server_default=""),
    Column("dropped_at", Utc),
    Index("outbox_due", "sent_at", "next_at"),
    Index("outbox_channel", "channel", "created_at"),
)

outbox_part = Table(
    "outbox_part",
    metadata,
    Column("outbox_id", String(36), ForeignKey("outbox.id"), primary_key=True),
    Column("warning_id", String(36), ForeignKey("warning.id"), primary_key=True),
    Column("said", String(10), primary_key=True),
    Index("outbox_part_warning", "warning_id"),
)

notify_channel = Table(
    "notify_channel",
    metadata,
    Column("id", String(36), primary_key=True),
    Column("kind", String(20), nullable=False),
    Column("name", String(80), nullable=False),
    Column("options", JSON, nullable=False),
    Column("mark", String(64), unique=True),
    Column("person_id", String(36), ForeignKey("person.id")),
    Column("least", String(10), nullable=False, default="warn"),
    Column("is_on", Boolean, nullable=False, default=True),
    Column("created_at", Utc, nullable=False),
    Column("removed_at", Utc),
    Column("removed_why", String(200), nullable=False, default=""),
    Column("tried_at", Utc),
    Column("worked_at", Utc),
    Column("failing_since_at", Utc),
    Column("trouble", Text, nullable=False, default=""),
)

quiet_hours = Table(
    "quiet_hours",
    metadata,
    Column("person_id", String(36), ForeignKey("person.id"), primary_key=True),
    Column("from_min", Integer, nullable=False),
    Column("to_min", Integer, nullable=False),
    Column("urgent_passes", Boolean, nullable=False, default=True),
)

snooze = Table(
    "snooze",
    metadata,
    Column("id", String(36), primary_key=True),
    Column("rule", String(40)),
    Column("place_id", String(36)),
    Column("probe", String(200)),
    Column("person_id", String(36), ForeignKey("person.id")),
    Column("until_at", Utc, nullable=False),
    Column("by", String(80), nullable=False, default=""),
    Column("made_at", Utc, nullable=False),
    Column("ended_at", Utc),
)

cursor = Table(
    "cursor",
    metadata,
    Column("name", String(40), primary_key=True),
    Column("seq", BigInteger, nullable=False),
)

person = Table(
    "person",
    metadata,
    Column("id", String(36), primary_key=True),
    Column("name", String(80), nullable=False, unique=True),
    Column("role", String(10), nullable=False),
    Column("password_hash", String(200)),
    Column("created_at", Utc, nullable=False),
    Column("from_at", Utc),
    Column("to_at", Utc),
)

sign_in_link = Table(
    "sign_in_link",
    metadata,
    Column("token_hash", String(64), primary_key=True),
    Column("person_id", String(36), ForeignKey("person.id"), nullable=False),
    Column("created_at", Utc, nullable=False),
    Column("expires_at", Utc, nullable=False),
    Column("used_at", Utc),
)

session = Table(
    "session",
    metadata,
    Column("token_hash", String(64), primary_key=True),
    Column("id", String(36), nullable=False, unique=True),
    Column("person_id", String(36), ForeignKey("person.id"), nullable=False),
    Column("device", String(120), nullable=False),
    Column("created_at", Utc, nullable=False),
    Column("last_used_at", Utc, nullable=False),
    Column("expires_at", Utc, nullable=False),
    Column("ticks", JSON, nullable=False),
)

person_change = Table(
    "person_change",
    metadata,
    Column("id", String(36), primary_key=True),
    Column("person_id", String(36), ForeignKey("person.id"), nullable=False),
    Column("at", Utc, nullable=False),
    Column("by", String(80), nullable=False),
    Column("what", String(20), nullable=False),
    Column("facts", JSON, nullable=False),
    Index("person_change_at", "at"),
)

api_token = Table(
    "api_token",
    metadata,
    Column("id", String(36), primary_key=True),
    Column("token_hash", String(64), nullable=False, unique=True),
    Column("name", String(80), nullable=False),
    Column("scopes", JSON, nullable=False),
    Column("probe", String(200)),
    Column("made_at", Utc, nullable=False),
    Column("made_by", String(80), nullable=False),
    Column("last_used_at", Utc),
    Column("ended_at", Utc),
    Column("ended_by", String(80), nullable=False, default=""),
)

passkey = Table(
    "passkey",
    metadata,
    Column("id", String(36), primary_key=True),
    Column("person_id", String(36), ForeignKey("person.id"), nullable=False),
    Column("credential_id", String(1400), nullable=False, unique=True),
    Column("public_key", LargeBinary, nullable=False),
    Column("sign_count", BigInteger, nullable=False),
    Column("host", String(253), nullable=False),
    Column("name", String(80), nullable=False),
    Column("made_at", Utc, nullable=False),
    Column("last_used_at", Utc),
    Column("doubted_at", Utc),
)

handed_message = Table(
    "handed_message",
    metadata,
    Column("seq", Integer, primary_key=True, autoincrement=True),
    Column("topic", String(400), nullable=False),
    Column("payload", LargeBinary, nullable=False),
    Column("received_at", Utc, nullable=False),
    sqlite_autoincrement=True,
)

setting = Table(
    "setting",
    metadata,
    Column("key", String(60), primary_key=True),
    Column("value", JSON, nullable=False),
)

topic_filter = Table(
    "topic_filter",
    metadata,
    Column("filter", String(200), primary_key=True),
    Column("added_at", Utc, nullable=False),
)

sign_of_life = Table(
    "sign_of_life",
    metadata,
    Column("part", String(40), primary_key=True),
    Column("at", Utc, nullable=False),
    Column("facts", JSON, nullable=False),
)
