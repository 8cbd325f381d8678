"""One wheel's life as marks in order, each in words; pure. Numbers stay numbers, so that a page chooses the units."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from dashboard.wheels.bodies.base import Body
from dashboard.wheels.bodies.doings import (
    Care,
    Covered,
    Cut,
    Ended,
    Lifted,
    Looked,
    Moved,
    RindNote,
    Tasting,
    TookOut,
    Weighing,
)
from dashboard.wheels.entry_kinds import ENTRY_KINDS
from dashboard.wheels.flags import words_of
from dashboard.wheels.kinds.care import CARE_KINDS
from dashboard.wheels.kinds.coverings import COVERINGS
from dashboard.wheels.kinds.endings import ENDINGS, TAKEN_OUT
from dashboard.wheels.kinds.rind import RIND_KINDS
from dashboard.wheels.losses import START_WORDS, LossPoint
from dashboard.wheels.model import Entry


@dataclass(frozen=True, slots=True)
class Mark:
    """One mark on a wheel's time axis.

    Args:
        lane: which row of marks it belongs to: weighing, care, rind, tasting, covering, place, other.
        word: what happened, in the trade's words. text: what the person wrote.
        weight_g, loss_pct: of a weighing. flags: sentences about the entry.
    """

    at: datetime
    lane: str
    word: str
    entry_id: str
    kind: str
    text: str = ""
    who: str = ""
    place_id: str | None = None
    weight_g: float | None = None
    loss_pct: float | None = None
    photos: tuple[str, ...] = ()
    flags: tuple[str, ...] = ()
    facts: Mapping[str, Any] = field(default_factory=dict)


LANES: dict[str, str] = {
    "weighing": "weighing",
    "took_out": "weighing",
    "care": "care",
    "looked": "care",
    "shelf_photo": "care",
    "left_missed": "care",
    "rind_note": "rind",
    "tasting": "tasting",
    "covered": "covering",
    "moved": "place",
}


def timeline(
    entries: Sequence[Entry], losses: Sequence[LossPoint] = (), own_words: Mapping[tuple[str, str], str] | None = None
) -> list[Mark]:
    """The marks of a wheel's standing entries, in their order.

    Args:
        entries: standing, in order. Sheets say nothing here.
        losses: the wheel's losses, for the weighings.
        own_words: the household's own words by (of, name).
    """
    points = {point.entry_id: point for point in losses}
    own = own_words or {}
    return [_mark(e, points.get(e.id), own) for e in entries if e.kind != "wheel" or e.body.text or e.body.photos]


def _mark(entry: Entry, point: LossPoint | None, own: Mapping[tuple[str, str], str]) -> Mark:
    body = entry.body
    return Mark(
        at=entry.happened_at,
        lane=LANES.get(entry.kind, "other"),
        word=word_of(body, own),
        entry_id=entry.id,
        kind=entry.kind,
        text=body.text,
        who=entry.who,
        place_id=entry.place_id,
        weight_g=_weight_g(body, point),
        loss_pct=point.loss_pct if point else None,
        photos=body.photos,
        flags=tuple(words_of(entry.flags)),
        facts=body.model_dump(exclude_unset=True, exclude={"kind", "text", "photos"}),
    )


def _weight_g(body: Body, point: LossPoint | None) -> float | None:
    if point is not None:
        return point.net_g
    if isinstance(body, Weighing):
        return (body.scale_g - body.tare_g) / (body.pieces or 1)
    return body.taken_g if isinstance(body, TookOut) else None


def word_of(body: Body, own_words: Mapping[tuple[str, str], str] | None = None) -> str:
    """What an entry says happened, in a few words; the household's own words by (of, name)."""
    own = own_words or {}
    match body:
        case Care():
            return _care_word(body, own)
        case RindNote():
            return _rind_word(body, own)
        case Covered():
            return _covered_word(body)
        case Weighing():
            named = f", {START_WORDS[body.start]}" if body.start else ""
            return f"weighed{' wet' if body.wet else ''}{named}"
        case Ended():
            return _ended_word(body)
        case Cut():
            return f"cut, {len(body.parts)} {'part goes' if len(body.parts) == 1 else 'parts go'} on"
        case Lifted():
            return f"{body.pieces} lifted out"
        case TookOut():
            return f"took out a {TAKEN_OUT[body.what]}"
        case Looked():
            return "looked at, nothing new" if body.nothing_new else "looked at"
        case Moved():
            return "moved"
        case Tasting():
            return f"tasted, {body.verdict} of 5" if body.verdict else "tasted"
    kind: str = getattr(body, "kind", "note")
    return ENTRY_KINDS[kind].word


def _care_word(body: Care, own: Mapping[tuple[str, str], str]) -> str:
    row = CARE_KINDS.get(body.care)
    word = row.word if row else own.get(("care", body.care), body.care.replace("_", " "))
    side = f", side {body.side}" if body.side else ""
    return f"{word}{side}{', nothing new' if body.nothing_new else ''}"


def _rind_word(body: RindNote, own: Mapping[tuple[str, str], str]) -> str:
    row = RIND_KINDS.get(body.note)
    word = row.word if row else own.get(("rind_note", body.note), body.note.replace("_", " "))
    where = f", {body.where}" if body.where else ""
    return f"{word} gone" if body.gone else f"{word}{where}"


def _covered_word(body: Covered) -> str:
    row = COVERINGS.get(body.covering)
    word = row.word if row else body.covering.replace("_", " ")
    return f"{body.coats} coats" if row and row.coats and body.coats > 1 and row.name == "coat" else word


def _ended_word(body: Ended) -> str:
    word = ENDINGS[body.how].word
    pieces = f"{body.pieces} " if body.pieces else ""
    whom = f" ({body.to_whom})" if body.to_whom else ""
    why = f": {body.reason}" if body.reason else ""
    return f"{pieces}{word}{whom}{why}"
