"""Ids made from the seed that a form carries, so that a form sent twice stores its entries once; pure."""

import uuid
from hashlib import sha256

_RANDOM_BITS = (1 << 76) - 1  # of a UUIDv7: all but the time, the version and the variant
_LOW_BITS = (1 << 62) - 1


def seeded_id(seed: str, *parts: str) -> str:
    """A UUIDv7 (RFC 9562, section 5.7) with the seed's time, the rest from the seed and what the entry is about.

    Args:
        seed: a UUIDv7 made when the form was shown.
        parts: what tells this entry from the form's others: its kind, its wheel.
    Raises:
        ValueError: a seed that is no UUID of version 7.
    """
    made = uuid.UUID(seed)
    if made.version != 7:
        raise ValueError(f"seed must be a UUID of version 7, got {seed}")
    digest = int.from_bytes(sha256("\0".join((str(made), *parts)).encode()).digest()[:16])
    random = digest & _RANDOM_BITS
    high, low = random >> 62 & 0xFFF, random & _LOW_BITS
    return str(uuid.UUID(int=(made.int >> 80) << 80 | 0x7 << 76 | high << 64 | 0x2 << 62 | low))
