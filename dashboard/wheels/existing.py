"""Wheels that somebody already has, one line each, read as a guess that the person confirms; pure.

"24-07B tomme 3 Feb 2.1 kg lower fridge": what is surely something is taken out of the line first (weight, pieces,
place, day, style, covering); of what is left the first word that looks like a code is the code, and the rest are
notes. Nothing typed is ever dropped.
"""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from difflib import SequenceMatcher
from typing import Any

from collector.errors import EntryRefused
from dashboard.wheels.days_typed import Habits, parse_day
from dashboard.wheels.kinds.coverings import COVERINGS
from dashboard.wheels.measures import parse_weight_g
from dashboard.wheels.numbers_typed import plain_text

MAX_LINE = 400
MAX_LINES = 2_000

SURE, LIKELY, UNSURE = 1.0, 0.7, 0.4

# What people say of a covering besides its own word; common practice, no source.
COVERED: dict[str, str] = {
    **{row.word.casefold(): name for name, row in COVERINGS.items()},
    "waxed": "wax",
    "bagged": "barrier_bag",
    "vacuum": "barrier_bag",
    "vacuumed": "barrier_bag",
    "vacuum packed": "barrier_bag",
    "clothbound": "cloth",
    "cloth-bound": "cloth",
    "larded": "cloth_fat",
    "oiled": "oil",
    "coated": "coat",
    "foiled": "foil",
    "wrapped": "two_ply",
}


Match = tuple[tuple[int, int], str, float]  # where it stands, the name, how sure
_ANY_WHEELS = frozenset({"cheese", "hard", "soft", "small", "large", "rind", "young", "aged", "milk", "pressed"})


@dataclass(frozen=True, slots=True)
class Known:
    """What the household calls things: id by name, for places and styles."""

    places: Mapping[str, str] = field(default_factory=dict)
    styles: Mapping[str, str] = field(default_factory=dict)
    codes: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Guess:
    """One value that was read: how sure that is, 0..1, and the words it was read from."""

    value: Any
    confidence: float
    words: str


@dataclass(frozen=True, slots=True)
class Found:
    """A wheel as it was read from a line or a row; what is not there was not said.

    Args:
        fields: of code, style_id, made_on, weight_g, place_id, covering, pieces, each (the weight is that of one
            piece), diameter_mm, notes.
        problems: (field, sentence) of what was said but could not be read.
        left: the pieces of a line that nobody understood, each as it stood together.
    """

    line: str
    fields: Mapping[str, Guess] = field(default_factory=dict)
    problems: tuple[tuple[str, str], ...] = ()
    left: tuple[str, ...] = ()

    def value(self, name: str) -> Any:
        """The value of a field, or None."""
        guess = self.fields.get(name)
        return guess.value if guess else None

    @property
    def least_sure(self) -> float:
        """How sure the least sure field is; 1 where nothing was read."""
        return min((guess.confidence for guess in self.fields.values()), default=1.0)


def read_lines(text: str, habits: Habits, known: Known, default_unit: str = "g") -> list[Found]:
    """Every line that is not blank, read by itself; codes used twice are named as problems.

    Args:
        text: what was typed or pasted, at most 2000 lines.
        habits: the household's day, zone and order of dates. default_unit: of a weight, kg, g, lb or oz.
        known: names of places and styles, and codes already in the book.
    Raises:
        EntryRefused: more than 2000 lines.
    """
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    if len(lines) > MAX_LINES:
        raise EntryRefused("lines", f"lines must be at most {MAX_LINES}, got {len(lines)}")
    return name_twins([read_line(line, habits, known, default_unit) for line in lines], known)


def name_twins(found: Sequence[Found], known: Known) -> list[Found]:
    """Say of each code that it is used twice, here or in the book."""
    seen = set(known.codes)
    named = []
    for one in found:
        code = one.value("code")
        if code and code in seen:
            one = replace(one, problems=(*one.problems, ("code", f"code {code} is used by another wheel")))
        seen.add(code)
        named.append(one)
    return named


def read_line(line: str, habits: Habits, known: Known, default_unit: str = "g") -> Found:
    """One line as a guess; see `read_lines`."""
    if len(line) > MAX_LINE:
        why = f"line must be at most {MAX_LINE} signs, got {len(line)}"
        return Found(line, {"notes": Guess(line, UNSURE, line)}, (("line", why),))
    rest = _Rest(" ".join(plain_text(line).split()))
    for reader in (_weight, _pieces, _place, _day_in_full, _style, _covering, _code, _short_day):
        reader(rest, _Reading(habits, known, default_unit))
    rest.leave_as_notes()
    return Found(line, rest.fields, tuple(rest.problems), rest.pieces())


@dataclass(frozen=True, slots=True)
class _Reading:
    habits: Habits
    known: Known
    default_unit: str


@dataclass(slots=True)
class _Rest:
    """What is left of a line, and what was taken out of it so far."""

    text: str
    fields: dict[str, Guess] = field(default_factory=dict)
    problems: list[tuple[str, str]] = field(default_factory=list)

    def take(self, name: str, span: tuple[int, int], value: Any, confidence: float) -> None:
        words = self.text[span[0] : span[1]].strip()
        self.fields[name] = Guess(value, confidence, words)
        # A bar keeps what stood before from being read together with what stood after.
        self.text = f"{self.text[: span[0]].rstrip()} | {self.text[span[1] :].lstrip()}".strip(" |,;")

    def pieces(self) -> tuple[str, ...]:
        return tuple(piece for piece in (_telling(text) for text in re.split(r"[|,;:]", self.text)) if piece)

    def leave_as_notes(self) -> None:
        notes = _telling(self.text)
        if notes:
            self.fields["notes"] = Guess(notes, LIKELY, notes)


def _telling(text: str) -> str:
    return " ".join(w for w in re.split(r"[\s|]+", text) if w.strip(" ,;:") and w.casefold() not in _FILLERS)


_FILLERS = frozenset(
    {"made", "on", "in", "at", "the", "weighs", "weight", "from", "of", "now", "each", "apiece", "-", "|"}
)
_UNIT = r"(?:kgs?|kilos?|g|gr|gms?|grams?|lbs?|pounds?|ozs?|ounces?|dag|dkg)\b\.?"
_NUMBER = r"(?:\d+ \d/\d|\d+/\d|\d[\d.,']*)"
_WEIGHT = re.compile(rf"(?<![\w.,/-]){_NUMBER} ?{_UNIT}(?:,? ?(?:and )?{_NUMBER} ?{_UNIT})?", re.IGNORECASE)
_PIECES = re.compile(r"(?<![\w.,/-])(\d{1,4}) ?(?:pieces|pcs|pc|pieces of|x|×)(?![\w])", re.IGNORECASE)
_EACH = re.compile(r"\b(?:each|apiece|per piece|a piece)\b", re.IGNORECASE)
_WORD_DAY = re.compile(
    r"(?<![\w/-])(?:made )?(?:on )?("
    r"\d{1,3} (?:days?|weeks?) ago|\d{4}-\d{1,2}-\d{1,2}|\d{1,2}[./-]\d{1,2}[./-](?:\d{4}|\d{2})|"
    r"\d{1,2}(?:st|nd|rd|th|\.)? (?:of )?[a-z]{3,9}\.?,?(?: (?:\d{4}|'\d{2}))?|"
    r"[a-z]{3,9}\.? \d{1,2}(?:st|nd|rd|th)?(?:,? (?:\d{4}|'\d{2}))?|"
    r"yesterday|today)(?![\w/-])",
    re.IGNORECASE,
)
_SHORT_DAY = re.compile(r"(?<![\w/.-])\d{1,2}[./-]\d{1,2}\.?(?![\w/-])")


def _weight(rest: _Rest, reading: _Reading) -> None:
    for found in _WEIGHT.finditer(rest.text):
        try:
            weight_g = parse_weight_g(found[0], reading.default_unit)
        except EntryRefused as refused:
            rest.problems.append(("weight", str(refused)))
            continue
        rest.take("weight_g", found.span(), weight_g, SURE)
        return


def _pieces(rest: _Rest, reading: _Reading) -> None:  # noqa: ARG001
    found = _PIECES.search(rest.text)
    if found is None or int(found[1]) == 0:
        return
    each = found[0].casefold().endswith(("x", "×")) or _EACH.search(rest.text) is not None
    rest.take("pieces", found.span(), int(found[1]), SURE)
    if each:
        rest.fields["each"] = Guess(True, LIKELY, found[0])


def _place(rest: _Rest, reading: _Reading) -> None:
    _named(rest, "place_id", reading.known.places)


def _style(rest: _Rest, reading: _Reading) -> None:
    _named(rest, "style_id", reading.known.styles, best_style)


def _named(
    rest: _Rest, name: str, ids: Mapping[str, str], best: Callable[[str, Mapping[str, str]], Match | None] | None = None
) -> None:
    """Take the longest name that stands in the text, else the one most like some of its words."""
    match = (best or best_name)(rest.text, ids)
    if match is not None:
        span, key, confidence = match
        rest.take(name, span, ids[key], confidence)


def best_name(text: str, ids: Mapping[str, str]) -> Match | None:
    """Where in a text one of some names stands: (span, name, how sure, 0..1); None where none does.

    Whole words only. A name in full is sure; its first word alone is likely; a name mistyped by a sign or two is
    unsure.
    """
    folded = text.casefold()
    for key in sorted(ids, key=len, reverse=True):
        found = _whole(key.casefold(), folded)
        if found:
            return found.span(), key, SURE
    by_first = [(key, _whole(_first_words(key), folded)) for key in sorted(ids)]
    firsts = [(key, found) for key, found in by_first if found]
    if firsts:
        return firsts[0][1].span(), firsts[0][0], LIKELY if len(firsts) == 1 else UNSURE
    return _mistyped(text, ids)


def best_style(text: str, ids: Mapping[str, str]) -> Match | None:
    """The same for a style, which people also call by one word of its name: "washed", "lactic".

    A word counts that only one of the styles has, and that says neither size nor covering: those stand in any line.
    """
    found = best_name(text, ids)
    if found is not None and found[2] > UNSURE:
        return found
    owners: dict[str, set[str]] = {}
    for name in ids:
        for word in re.findall(r"[^\W\d_]{4,}", name.casefold()):
            owners.setdefault(word, set()).add(name)
    for one in re.finditer(r"[^\W\d_]{4,}", text):
        word = one[0].casefold()
        if word not in _ANY_WHEELS and word not in COVERED and len(owners.get(word, ())) == 1:
            return one.span(), next(iter(owners[word])), LIKELY
    return found


def _first_words(name: str) -> str:
    return re.split(r"[,(/]", name.casefold())[0].strip()


def _whole(words: str, text: str) -> re.Match[str] | None:
    return re.search(rf"(?<!\w){re.escape(words)}(?!\w)", text) if words else None


def _mistyped(text: str, ids: Mapping[str, str]) -> Match | None:
    words = list(re.finditer(r"[^\s|,;]+", text))
    best: tuple[float, tuple[int, int], str] | None = None
    for key in sorted(ids):
        size = len(key.split())
        for start in range(len(words) - size + 1):
            span = (words[start].start(), words[start + size - 1].end())
            part = text[slice(*span)].casefold()
            if len(part) < 4 or abs(len(part) - len(key)) > 1 or any(c.isdigit() for c in part):
                continue
            like = SequenceMatcher(None, part, key.casefold()).ratio()
            if like >= 0.84 and (best is None or like > best[0]):
                best = (like, span, key)
    return None if best is None else (best[1], best[2], UNSURE)


def _covering(rest: _Rest, reading: _Reading) -> None:  # noqa: ARG001
    folded = rest.text.casefold()
    for word in sorted(COVERED, key=len, reverse=True):
        found = _whole(word, folded)
        if found:
            rest.take("covering", found.span(), COVERED[word], SURE if word != "bagged" else LIKELY)
            return


def _day_in_full(rest: _Rest, reading: _Reading) -> None:
    _search_day(rest, _WORD_DAY, 1, reading, SURE)


def _short_day(rest: _Rest, reading: _Reading) -> None:
    """Two numbers alone may be a day, once the code is out of the way; never sure."""
    if "made_on" not in rest.fields:
        _search_day(rest, _SHORT_DAY, 0, reading, UNSURE)


def _search_day(rest: _Rest, form: re.Pattern[str], group: int, reading: _Reading, confidence: float) -> None:
    """Try every place in the text: in "gouda 3 Feb" the first thing of the form of a day is none."""
    found = form.search(rest.text)
    while found and not _take_day(rest, found, group, reading, confidence):
        found = form.search(rest.text, found.start() + 1)


def _take_day(rest: _Rest, found: re.Match[str], group: int, reading: _Reading, confidence: float) -> bool:
    day = _read(lambda: parse_day(found[group], reading.habits))
    if day is None or day > reading.habits.today:
        return False
    rest.take("made_on", found.span(), day, confidence)
    return True


def _read(how: Callable[[], date]) -> date | None:
    try:
        return how()
    except EntryRefused:
        return None


def _code(rest: _Rest, reading: _Reading) -> None:  # noqa: ARG001
    """The first word with a figure in it is the code; at the very front, a word in capitals too."""
    first = True
    for found in re.finditer(r"[^\s|]+", rest.text):
        word = found[0].strip(",;:")
        if any(c.isdigit() for c in word) or (first and word.isupper() and len(word) <= 12):
            span = (found.start(), found.start() + len(found[0]))
            rest.take("code", span, word, SURE if first else LIKELY)
            return
        first = False
