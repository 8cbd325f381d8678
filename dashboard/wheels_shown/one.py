"""One wheel in words: what it is, its weights, where it has been, what was done, tasted and seen. Only reads."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from sqlalchemy import Connection, RowMapping, select

from collector.records.places import places
from dashboard import words
from dashboard.household import Household
from dashboard.rounds.choices import SCALES
from dashboard.rounds.correcting import CORRECTABLE
from dashboard.rounds.row_words import age_words
from dashboard.rounds.shelves import Looked
from dashboard.wheels import tables
from dashboard.wheels.bodies.doings import Tasting
from dashboard.wheels.book import Make, Wheel, WheelBook, makes
from dashboard.wheels.cautions import Caution, Cheese, cautions_for
from dashboard.wheels.codes import spoken
from dashboard.wheels.kinds.coverings import COVERINGS
from dashboard.wheels.kinds.endings import STARTS
from dashboard.wheels.labels_given import label_of
from dashboard.wheels.losses import START_WORDS
from dashboard.wheels.model import Entry
from dashboard.wheels.photos import photos_of
from dashboard.wheels.shelf_photos import photos_seen_in
from dashboard.wheels.timeline import Mark
from dashboard.wheels_shown.finding import additions_of, species_of


@dataclass(frozen=True, slots=True)
class Fact:
    """One line of what a wheel is; `path` leads on."""

    label: str
    words: str
    path: str = ""


@dataclass(frozen=True, slots=True)
class Weights:
    """The weighings, the latest first, and what loss is counted from.

    Args:
        rows: when, weight, loss, remark. starts: the named weights, in words.
    """

    counted_from: str
    rows: tuple[tuple[str, str, str, str], ...]
    starts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Line:
    """An entry as it stands in the wheel's life; `kind` is that of the entry."""

    id: str
    kind: str
    when: str
    word: str
    text: str
    by: str
    flags: tuple[str, ...]
    may_correct: bool


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo of the wheel: addresses of the small and the whole one, and what it shows, in words."""

    id: str
    small: str
    whole: str
    width: int
    height: int
    said: str


@dataclass(frozen=True, slots=True)
class Tasted:
    """A tasting in words."""

    when: str
    verdict: str
    said: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class OneWheel:
    """All that a wheel's page shows of the book."""

    facts: tuple[Fact, ...]
    weights: Weights
    stays: tuple[tuple[str, str, str, str], ...]
    lines: tuple[Line, ...]
    more_lines: int
    photos: tuple[Photo, ...]
    tastings: tuple[Tasted, ...]
    cautions: tuple[Caution, ...]
    parts: tuple[Fact, ...] = field(default_factory=tuple)


def one_wheel(db: Connection, book: WheelBook, looked: Looked, most: int) -> OneWheel:
    """What the page of a wheel shows; at most so many of its entries, the latest first."""
    known = {place.id: place.name for place in places(db)}
    make = _make(db, book.wheel)
    marks = list(reversed(book.marks))
    return OneWheel(
        facts=tuple(_facts(db, book, make, known, looked)),
        weights=weights(book, looked),
        stays=tuple(_stays(book, known, looked)),
        lines=tuple(_line(mark, known, looked) for mark in marks[:most]),
        more_lines=max(0, len(marks) - most),
        photos=photos(db, book.wheel.id, looked),
        tastings=tuple(tasted(e, looked) for e in reversed(book.entries) if isinstance(e.body, Tasting)),
        cautions=tuple(cautions(db, book.wheel, make, looked)),
        parts=tuple(Fact(part.code or "a part", part_words(part, looked), f"/wheels/{part.id}") for part in book.parts),
    )


def _make(db: Connection, wheel: Wheel) -> Make | None:
    found = makes(db, tables.make.c.id == wheel.make_id) if wheel.make_id else []
    return found[0] if found else None


def _facts(db: Connection, book: WheelBook, make: Make | None, known: Mapping[str, str], looked: Looked) -> list[Fact]:
    wheel, household = book.wheel, looked.household
    style = looked.styles.get(wheel.style_id or "")
    label = label_of(db, wheel.id)
    said = [
        Fact("Style", style.sheet.name if style else ""),
        Fact("Made", made_words(wheel, looked)),
        Fact("Make", make_words(make, household) if make else "", f"/makes/{make.id}" if make else ""),
        Fact("Milk", ", ".join(sorted(species_of(wheel, make)))),
        Fact("In it", ", ".join(additions_of(wheel, make))),
        Fact("Stands", _stands(wheel, known)),
        Fact("Covering", covering_word(wheel.covering, wheel.coats)),
        Fact("Pieces", f"{wheel.pieces_left} of {wheel.sheet.pieces} left" if wheel.sheet.pieces > 1 else ""),
        Fact("Size", _size(wheel)),
        Fact("Ripe", _ripe(wheel, looked)),
        Fact("Cut from", "the wheel it came from" if wheel.parent_id else "", f"/wheels/{wheel.parent_id}"),
        Fact("Label", spoken(label) if label else ""),
        Fact("Notes", wheel.sheet.notes),
    ]
    return [fact for fact in said if fact.words]


def made_words(wheel: Wheel, looked: Looked) -> str:
    """When a wheel was made and how old it is."""
    if wheel.made_on is None:
        return "not known when"
    age = age_words(wheel.age_d(looked.today)) if wheel.alive else ""
    return words.long_date(wheel.made_on, looked.household) + (f", {age} old" if age else "")


def make_words(make: Make, household: Household) -> str:
    """What a make is called."""
    on = words.long_date(make.made_on, household) if make.made_on else ""
    return make.code or (f"of {on}" if on else "a make without a day")


def covering_word(name: str, coats: int = 1) -> str:
    """What a wheel is under, in words."""
    row = COVERINGS.get(name)
    word = row.word if row else name.replace("_", " ")
    return f"{word}, {coats} coats" if coats > 1 else word


def _stands(wheel: Wheel, known: Mapping[str, str]) -> str:
    if not wheel.alive:
        return ""
    name = known.get(wheel.place_id or "", "nobody said where")
    return ", ".join(part for part in (name, wheel.spot) if part)


def _size(wheel: Wheel) -> str:
    sheet = wheel.sheet
    sides = [f"{side:g} mm" for side in (sheet.diameter_mm or sheet.length_mm, sheet.height_mm) if side]
    return " by ".join(sides)


def _ripe(wheel: Wheel, looked: Looked) -> str:
    style = looked.styles.get(wheel.style_id or "")
    if style is None or style.sheet.ripe_from_d is None or not wheel.alive:
        return ""
    to = f" to {age_words(style.sheet.ripe_to_d)}" if style.sheet.ripe_to_d else ""
    return f"by its style from {age_words(style.sheet.ripe_from_d)}{to}"


def weights(book: WheelBook, looked: Looked) -> Weights:
    """The weighings in words; loss counts from the last of the three named weights, and that is said."""
    household, start = looked.household, book.history.start
    losses = {point.entry_id: point for point in book.history.losses}
    rows = []
    for one in reversed(book.history.weights):
        point = losses.get(one.entry_id)
        loss = f"{point.loss_pct:.1f} %" if point else words.NOTHING
        remark = ", ".join(part for part in (START_WORDS.get(one.start or "", ""), "wet" if one.wet else "") if part)
        rows.append((words.moment(one.at, looked.now_at, household), words.weight(one.net_g, household), loss, remark))
    counted = ""
    if start is not None:
        on = words.long_date(start.at, household)
        counted = f"Loss counts from: {start.word}, {on}, {words.weight(start.net_g, household)}."
    named = [book.history.starts[name] for name in STARTS if name in book.history.starts]
    said = tuple(
        f"{s.word}: {words.weight(s.net_g, household)}, {words.long_date(s.at, household)}" for s in named
    )  # fmt: skip
    return Weights(counted, tuple(rows), said)


def _stays(book: WheelBook, known: Mapping[str, str], looked: Looked) -> list[tuple[str, str, str, str]]:
    """From, to, place, covering; the latest first."""
    return [
        (
            words.long_date(stay.from_at, looked.household),
            words.long_date(stay.to_at, looked.household) if stay.to_at else "now",
            ", ".join(p for p in (known.get(stay.place_id or "", "not said where"), stay.spot) if p),
            covering_word(stay.covering, stay.coats),
        )
        for stay in reversed(book.history.stays)
    ]


def _line(mark: Mark, known: Mapping[str, str], looked: Looked) -> Line:
    word = mark.word
    if mark.weight_g is not None:
        word += f" {words.weight(mark.weight_g, looked.household)}"
    if mark.loss_pct is not None:
        word += f", {mark.loss_pct:.1f} % lost" if mark.loss_pct >= 0 else f", {-mark.loss_pct:.1f} % gained"
    if mark.kind == "moved":
        word += f" to {known.get(mark.place_id or '', 'a place that is not in the book')}"
    when = words.moment(mark.at, looked.now_at, looked.household)
    said = str(mark.facts.get("with_what") or "")
    text = " ".join(part for part in (f"With {said}." if said else "", mark.text) if part)
    return Line(mark.entry_id, mark.kind, when, word, text, mark.who, mark.flags, mark.kind in CORRECTABLE)


def photos(db: Connection, wheel_id: str, looked: Looked) -> tuple[Photo, ...]:
    """The photos of a wheel in the order in which they were taken, those of the shelf on which it stood among them."""
    own = [(row, "") for row in photos_of(db, [wheel_id])]
    every = own + [(row, "the shelf, ") for row in photos_seen_in(db, wheel_id)]
    every.sort(key=lambda one: one[0]["happened_at"])
    return tuple(
        photo_at(row, words.moment(row["happened_at"], looked.now_at, looked.household), what) for row, what in every
    )


def photo_at(row: RowMapping, when: str, what: str = "") -> Photo:
    """A photo as a page shows it; `what` stands before its time."""
    small, whole = (f"/photos/{row[name]}.jpg" for name in ("small_hash", "content_hash"))
    return Photo(row["id"], small, whole, row["width"], row["height"], what + when)


def tasted(entry: Entry, looked: Looked) -> Tasted:
    """A tasting in words."""
    body = entry.body
    if not isinstance(body, Tasting):
        raise ValueError(f"entry {entry.id} is no tasting but {entry.kind}")
    own = [(name.capitalize(), getattr(body, name)) for name in ("appearance", "texture", "aroma", "flavour")]
    scales = [
        (label, f"{getattr(body, name)} of 5, from {low} to {high}")
        for name, (label, low, high) in SCALES.items()
        if name != "verdict" and getattr(body, name)
    ]
    rest = [("Next time", body.next_time), ("Tasted by", body.tasters), ("Words", body.text)]
    said = tuple((label, text) for label, text in (*own, *scales, *rest) if text)
    verdict = f"{body.verdict} of 5" if body.verdict else ""
    return Tasted(words.moment(entry.happened_at, looked.now_at, looked.household), verdict, said)


def part_words(part: Wheel, looked: Looked) -> str:
    """What became of a part, in a few words."""
    from_weight = words.weight(part.net_g or part.start_g, looked.household)
    return f"{from_weight}, {covering_word(part.covering)}" if part.alive else part.state


def cautions(db: Connection, wheel: Wheel, make: Make | None, looked: Looked) -> Sequence[Caution]:
    """The cautions that belong to a wheel; the make's own word on its milk wins over the wheel's."""
    style = looked.styles.get(wheel.style_id or "")
    own = tables.own_kind.c
    calls = db.execute(select(own.name, own.calls_for).where(own.of == "rind_note"))
    cheese = Cheese(
        heat=(make.sheet.heat if make else None) or wheel.sheet.heat,
        made_on=wheel.made_on,
        rind=style.sheet.rind if style else "",
        section=style.sheet.minimum_age_section if style else "",
        covering=wheel.covering,
        additions=tuple(additions_of(wheel, make)),
        notes=frozenset(wheel.notes_at),
        calls_for=tuple((row.name, row.calls_for) for row in calls),
    )
    return cautions_for(cheese, looked.today)
