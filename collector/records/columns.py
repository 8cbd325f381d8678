"""Column kinds of the records: times as whole milliseconds, ids made once."""

import os
import time
import uuid
from datetime import datetime
from typing import Any

from sqlalchemy import BigInteger, Dialect
from sqlalchemy.types import TypeDecorator

from collector.instants import from_ms, to_ms

__all__ = ["Utc", "from_ms", "new_id", "to_ms"]


def new_id(now_ms: int | None = None) -> str:
    """A UUIDv7 (RFC 9562, section 5.7): time first, so that ids sort by when they were made."""
    ms = time.time_ns() // 1_000_000 if now_ms is None else now_ms
    value = (ms & 0xFFFFFFFFFFFF) << 80 | int.from_bytes(os.urandom(10))
    value = value & ~(0xF << 76) | 0x7 << 76
    value = value & ~(0x3 << 62) | 0x2 << 62
    return str(uuid.UUID(int=value))


class Utc(TypeDecorator[datetime]):
    """An aware time, kept as whole milliseconds: SQLite would drop the zone without converting."""

    impl = BigInteger
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> int | None:  # noqa: ARG002
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError(f"a time without a zone cannot be kept, got {value.isoformat()}")
        return to_ms(value)

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        return None if value is None else from_ms(value)
