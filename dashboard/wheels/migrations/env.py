"""Runs the wheel book's migrations on the connection that the starter hands in."""

from typing import Any, Literal

from alembic import context

from collector.records.columns import Utc
from dashboard.wheels.tables import metadata


def plain(kind: str, item: Any, _autogen: Any) -> str | Literal[False]:
    """A migration names the plain column kind, so that it stands without our code."""
    return "sa.BigInteger()" if kind == "type" and isinstance(item, Utc) else False


def ours(_thing: Any, name: str | None, kind: str, _reflected: bool, _other: Any) -> bool:
    return kind != "table" or name in metadata.tables


context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    version_table="book_version",
    render_as_batch=True,
    render_item=plain,
    include_object=ours,
)
with context.begin_transaction():
    context.run_migrations()
