"""Short codes for labels: six signs that can be read aloud and typed, beside the person's own code; pure.

The signs are Crockford's base32: no I, L, O or U, and what people mistake for a sign is read as it (O as 0, I and L
as 1). A code is made from the id of what it names, so that a phone without signal can write the same one.
"""

import re
from uuid import UUID

SIGNS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
LENGTH = 6
_STRIDE = 0x1E3779B1  # odd, so that counting attempts up meets every code before one comes again
_MISREAD = str.maketrans("OIL", "011")
_BETWEEN = re.compile(r"[\s\-–]+")
_CODE = re.compile(f"[{SIGNS}]{{{LENGTH}}}")


def short_code(subject_id: str, attempt: int = 0) -> str:
    """The short code of a wheel, shelf or board.

    Args:
        subject_id: its UUID, whose last 30 bits are random; the same id gives the same code.
        attempt: 0 at first; counted up while another subject already has the code (2**30 codes there are).
    Returns:
        Six signs of Crockford's base32, in capitals.
    Raises:
        ValueError: an id that is no UUID.
    Source: D. Crockford, "Base 32", for the signs; taking them from the id's end is our choice.
    """
    number = (UUID(subject_id).int + attempt * _STRIDE) % (1 << 5 * LENGTH)
    return "".join(SIGNS[number >> 5 * place & 31] for place in reversed(range(LENGTH)))


def read_short_code(text: str) -> str | None:
    """The short code that somebody typed, small letters, blanks and mistaken signs set right; None if it is none."""
    code = _BETWEEN.sub("", text).upper().translate(_MISREAD)
    return code if _CODE.fullmatch(code) else None


def spoken(code: str) -> str:
    """A code in two groups of three, as it is printed and read aloud ("7K3 F9Q")."""
    return f"{code[:3]} {code[3:]}"
