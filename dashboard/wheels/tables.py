"""The tables of the wheel book.

`entry`, `photo`, `label` and `forecast` are the book: rows are only added there. `make`, `wheel`, `style`, `gear`,
`own_kind`, `stay` and `photo_ref` hold what the entries say together, so that a page reads it in one look; they are
made anew from the entries whenever one comes, never added to, and can be thrown away at any time. `book_change` tells
in which order. `feed` holds who may read the calendar.

No table refers to another by a foreign key: entries come from several phones in any order, and one about a wheel that
is not here yet is kept and flagged, not refused.
"""

from sqlalchemy import JSON, Boolean, Column, Date, Float, Index, Integer, MetaData, String, Table

from collector.records.columns import Utc

metadata = MetaData()

entry = Table(
    "entry",
    metadata,
    Column("id", String(36), primary_key=True),
    Column("kind", String(20), nullable=False),
    Column("wheel_id", String(36)),
    Column("make_id", String(36)),
    Column("place_id", String(36)),
    Column("gear_id", String(36)),
    Column("style_id", String(36)),
    Column("group_id", String(36)),
    Column("who", String(80), nullable=False, default=""),
    Column("happened_at", Utc, nullable=False),
    Column("done_at", Utc, nullable=False),
    Column("sent_at", Utc),
    Column("received_at", Utc, nullable=False),
    Column("zone", String(64), nullable=False, default=""),
    Column("typed_time", Boolean, nullable=False, default=False),
    Column("replaces", String(36)),
    Column("body", JSON, nullable=False),
    Column("digest", String(64), nullable=False),
    Column("flags", JSON, nullable=False),
    Index("entry_wheel", "wheel_id", "happened_at"),
    Index("entry_make", "make_id", "happened_at"),
    Index("entry_place", "place_id", "happened_at"),
    Index("entry_gear", "gear_id", "happened_at"),
    Index("entry_style", "style_id"),
    Index("entry_kind", "kind", "happened_at"),
    Index("entry_group", "group_id"),
    Index("entry_replaces", "replaces"),
)

photo = Table(
    "photo",
    metadata,
    Column("id", String(36), primary_key=True),
    Column("content_hash", String(64), nullable=False),
    Column("small_hash", String(64), nullable=False),
    Column("source_hash", String(64), nullable=False),
    Column("width", Integer, nullable=False),
    Column("height", Integer, nullable=False),
    Column("bytes", Integer, nullable=False),
    Column("who", String(80), nullable=False, default=""),
    Column("received_at", Utc, nullable=False),
    Index("photo_content", "content_hash"),
)

label = Table(
    "label",
    metadata,
    Column("code", String(12), primary_key=True),
    Column("of", String(10), nullable=False),
    Column("subject_id", String(36), nullable=False),
    Column("given_at", Utc, nullable=False),
    Index("label_subject", "subject_id", unique=True),
)

forecast = Table(
    "forecast",
    metadata,
    Column("id", String(36), primary_key=True),
    Column("wheel_id", String(36), nullable=False),
    Column("kind", String(20), nullable=False),
    Column("made_at", Utc, nullable=False),
    Column("due_at", Utc, nullable=False),
    Column("low", Float, nullable=False),
    Column("middle", Float, nullable=False),
    Column("high", Float, nullable=False),
    Column("unit", String(10), nullable=False),
    Column("facts", JSON, nullable=False),
    Column("came", Float),
    Column("came_at", Utc),
    Index("forecast_wheel", "wheel_id", "due_at"),
)

make = Table(
    "make",
    metadata,
    Column("id", String(36), primary_key=True),
    Column("code", String(120), nullable=False),
    Column("style_id", String(36)),
    Column("made_on", Date),
    Column("sheet", JSON, nullable=False),
    Index("make_day", "made_on"),
)

wheel = Table(
    "wheel",
    metadata,
    Column("id", String(36), primary_key=True),
    Column("code", String(120), nullable=False),
    Column("make_id", String(36)),
    Column("style_id", String(36)),
    Column("parent_id", String(36)),
    Column("made_on", Date),
    Column("sheet", JSON, nullable=False),
    Column("state", String(10), nullable=False),
    Column("state_at", Utc),
    Column("pieces_left", Integer, nullable=False),
    Column("place_id", String(36)),
    Column("place_since_at", Utc),
    Column("spot", String(120), nullable=False),
    Column("position", Integer),
    Column("covering", String(40), nullable=False),
    Column("coats", Integer, nullable=False),
    Column("net_g", Float),
    Column("weighed_at", Utc),
    Column("start", String(10)),
    Column("start_g", Float),
    Column("loss_pct", Float),
    Column("last", JSON, nullable=False),
    Column("notes", JSON, nullable=False),
    Index("wheel_code", "code"),
    Index("wheel_make", "make_id"),
    Index("wheel_parent", "parent_id"),
    Index("wheel_place", "state", "place_id"),
)

style = Table(
    "style",
    metadata,
    Column("id", String(36), primary_key=True),
    Column("name", String(120), nullable=False),
    Column("sheet", JSON, nullable=False),
)

gear = Table(
    "gear",
    metadata,
    Column("id", String(36), primary_key=True),
    Column("gear", String(40), nullable=False),
    Column("name", String(120), nullable=False),
    Column("place_id", String(36)),
    Column("retired", Boolean, nullable=False),
    Column("sheet", JSON, nullable=False),
)

own_kind = Table(
    "own_kind",
    metadata,
    Column("of", String(20), primary_key=True),
    Column("name", String(40), primary_key=True),
    Column("word", String(120), nullable=False),
    Column("calls_for", String(20), nullable=False),
    Column("retired", Boolean, nullable=False),
)

stay = Table(
    "stay",
    metadata,
    Column("wheel_id", String(36), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("from_at", Utc, nullable=False),
    Column("to_at", Utc),
    Column("place_id", String(36)),
    Column("spot", String(120), nullable=False),
    Column("covering", String(40), nullable=False),
    Column("coats", Integer, nullable=False),
    Index("stay_place", "place_id", "from_at"),
)

photo_ref = Table(
    "photo_ref",
    metadata,
    Column("entry_id", String(36), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("photo_id", String(36), nullable=False),
    Index("photo_ref_photo", "photo_id"),
)

book_change = Table(
    "book_change",
    metadata,
    Column("seq", Integer, primary_key=True, autoincrement=True),
    Column("mark", String(36), nullable=False),
    Column("wheel_id", String(36)),
    sqlite_autoincrement=True,
)

feed = Table(
    "feed",
    metadata,
    Column("token_hash", String(64), primary_key=True),
    Column("who", String(80), nullable=False),
    Column("made_at", Utc, nullable=False),
    Column("revoked_at", Utc),
    Column("last_fetched_at", Utc),
)

BOOK = (entry, photo, label, forecast)
"""What an export carries; everything else is made from it."""

DERIVED = (make, wheel, style, gear, own_kind, stay, photo_ref)
"""What is made anew from the entries."""
