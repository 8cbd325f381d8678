"""Cases bent out of good ones: bits, lengths and slices changed by chance, with a seed, so that each comes again."""

import random
from collections.abc import Iterator, Sequence
from typing import AnyStr

ODD_BYTES = (
    b"\0", b"\xff", b"\x80", b"\x9f", b"\xbf", b"\x1b" + b"\xff" * 8, b"[[[[", b"{", b"\xf9\x7e\x00", b"1e999", b"-",
    b'"', b"\\ud800", b"\xed\xa0\x80", b"NaN", b"9" * 400, b"\n", b"\xfb\x7f\xf0" + b"\0" * 6,
)  # fmt: skip
ODD_TEXTS = (
    "", "0", "9" * 30, "1e999", "nan", "inf", "-", "½", "\u202e", "\0", "٣", "１", "10000-01-01", "31.02.", "/", ",",
    ".", "kg", "lb", "°", "%", "'", '"', "\n", "\t", "=", "İ", "ß", "\ud800", "::", "~1", "yesterday", "weeks ago",
)  # fmt: skip
MOST_BENDS = 4


def bent_bytes(seeds: Sequence[bytes], seed: int) -> Iterator[bytes]:
    """Bytes without end."""
    chance = random.Random(seed)
    while True:
        data = chance.choice(seeds)
        for _ in range(chance.randint(1, MOST_BENDS)):
            data = _bent(data, chance.choice(ODD_BYTES), chance.choice(seeds), chance)
            if data and chance.random() < 0.5:
                at = chance.randrange(len(data))
                data = data[:at] + bytes([data[at] ^ 1 << chance.randrange(8)]) + data[at + 1 :]
        yield data


def bent_texts(seeds: Sequence[str], seed: int) -> Iterator[str]:
    """Texts without end."""
    chance = random.Random(seed)
    while True:
        text = chance.choice(seeds)
        for _ in range(chance.randint(1, MOST_BENDS)):
            text = _bent(text, chance.choice(ODD_TEXTS), chance.choice(seeds), chance)
        yield text


def _bent(data: AnyStr, odd: AnyStr, other: AnyStr, chance: random.Random) -> AnyStr:
    at, end = sorted((chance.randint(0, len(data)), chance.randint(0, len(data))))
    kind = chance.randrange(5)
    if kind == 0:
        return data[:at] + odd + data[at:]
    if kind == 1:
        return data[:at] + odd + data[end:]
    if kind == 2:
        return data[:at] + data[end:]
    if kind == 3:
        return data[:end] + data[at:]
    return data[:at] + other[min(at, len(other)) :]
