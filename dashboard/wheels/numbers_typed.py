"""A number as people type it: decimal point or comma, thousands, fractions; pure.

"1,250" alone can be one and a quarter or twelve hundred and fifty. Both readings are given back, and whoever asks
decides by what is possible; a number with two readings that are both possible is asked about, never guessed.
"""

import re
import unicodedata
from fractions import Fraction

_GROUPED = re.compile(r"\d{1,3}(?:([.,' ])\d{3})(?:\1\d{3})*")
_PLAIN = re.compile(r"\d+")
_FRACTION = re.compile(r"(?:(\d+) +)?(\d+) */ *(\d+)")
_MARKED = re.compile(r"(\d*)([.,])(\d+)")
_BOTH = re.compile(r"(\d{1,3}(?:([.,' ])\d{3})+)([.,])(\d+)")


def plain_text(text: str) -> str:
    """The text with wide, raised and vulgar signs spelled plainly: "２½ ℃" is "2 1/2 °C"."""
    fractions = "".join(f" {unicodedata.normalize('NFKC', c)}" if _is_vulgar(c) else c for c in text)
    plain = unicodedata.normalize("NFKC", fractions.replace("º", "°").replace("℃", "°C").replace("℉", "°F"))
    return plain.translate({0x2044: "/", 0x2212: "-", 0x2013: "-", 0x2019: "'", 0x2032: "'", 0x2033: '"'}).strip()


def _is_vulgar(sign: str) -> bool:
    return unicodedata.category(sign) == "No" and "\u2044" in unicodedata.normalize("NFKC", sign)


def readings_of(text: str) -> list[float]:
    """All readings of a number without sign, the decimal one first; none if it is no number.

    Args:
        text: digits with at most one kind of thousands mark (. , ' or a blank), one decimal mark, or a fraction.
    """
    text = text.strip()
    if fraction := _FRACTION.fullmatch(text):
        return _of_fraction(fraction)
    if _PLAIN.fullmatch(text):
        return [float(text)]
    found = []
    marked = _MARKED.fullmatch(text)
    if marked:
        found.append(float(f"{marked[1] or '0'}.{marked[3]}"))
    both = _BOTH.fullmatch(text)
    if both and both[2] != both[3]:
        found.append(float(f"{_digits(both[1])}.{both[4]}"))
    if _GROUPED.fullmatch(text) and not text.startswith("0"):
        found.append(float(_digits(text)))
    return found


def _of_fraction(found: re.Match[str]) -> list[float]:
    if int(found[3]) == 0:
        return []
    return [float(int(found[1] or 0) + Fraction(int(found[2]), int(found[3])))]


def _digits(text: str) -> str:
    return re.sub(r"\D", "", text)
