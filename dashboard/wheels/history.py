"""What the entries of one wheel say together: where it is, what it weighs, what was last done; pure."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime

from dashboard.wheels.bodies.doings import Care, Cut, CutPart, LeftMissed, Lifted, Looked, RindNote, Tasting
from dashboard.wheels.bodies.sheets import WheelSheet
from dashboard.wheels.counts import ALIVE, CUT_UP, Count, count
from dashboard.wheels.kinds.care import CARE_KINDS
from dashboard.wheels.kinds.coverings import BARE
from dashboard.wheels.losses import (
    CUT,
    LossPoint,
    NetWeight,
    Start,
    counted_from,
    losses_of,
    net_weight,
    starts_of,
)
from dashboard.wheels.model import Entry
from dashboard.wheels.sheets import laid_over
from dashboard.wheels.stays import Stay, stay_at, stays_of

LEFT = "left:"
EVERY_CARE = "left:*"


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a part or lifted piece began: its parent, when, from which sheet, where it stood, and its weight."""

    parent_id: str
    at: datetime
    sheet: WheelSheet
    begun: Stay | None = None
    weight_g: float | None = None
    face: str = BARE


@dataclass(frozen=True, slots=True)
class History:
    """A wheel as its entries tell it.

    Args:
        known: whether the book has the wheel at all (a sheet, or a parent it was cut from).
        last: when each care and each look was last done; see `last_done`.
        notes: rind notes still open, and since when.
        origins: where each part cut or lifted from it began, by the part's id.
    """

    sheet: WheelSheet
    known: bool
    counted: Count
    origin: Origin | None = None
    stays: tuple[Stay, ...] = ()
    weights: tuple[NetWeight, ...] = ()
    start: Start | None = None
    starts: Mapping[str, Start] = field(default_factory=dict)
    losses: tuple[LossPoint, ...] = ()
    last: Mapping[str, datetime] = field(default_factory=dict)
    notes: Mapping[str, datetime] = field(default_factory=dict)
    origins: Mapping[str, Origin] = field(default_factory=dict)

    @property
    def now(self) -> Stay | None:
        """Its last stay, the open one while it is alive."""
        return self.stays[-1] if self.stays else None


def history_of(entries: Sequence[Entry], origin: Origin | None = None) -> History:
    """Read a wheel's history from its standing entries in order; a part also needs where it began."""
    sheet = laid_over(WheelSheet, (e.body for e in entries), origin.sheet if origin else None)
    counted = count(entries, sheet.pieces)
    stays = stays_of(entries, origin.begun if origin else None, counted.ended_at)
    weights = [net_weight(e, _on_scale(e, entries, sheet.pieces)) for e in entries if e.kind == "weighing"]
    cut = Start(CUT, origin.at, origin.weight_g) if origin and origin.weight_g else None
    start = counted_from(weights, cut)
    return History(
        sheet=sheet,
        known=origin is not None or any(e.kind == "wheel" for e in entries),
        counted=counted,
        origin=origin,
        stays=tuple(stays),
        weights=tuple(weights),
        start=start,
        starts=starts_of(weights, cut),
        losses=tuple(losses_of(entries, weights, start)),
        last=last_done(entries, origin.at if origin else None),
        notes=open_notes(entries),
        origins=_origins(entries, sheet, stays),
    )


def _on_scale(entry: Entry, entries: Sequence[Entry], pieces: int) -> int:
    """How many pieces of a batch were on the scale when nobody said: all that were left."""
    if pieces == 1:
        return 1
    return count([e for e in entries if e.happened_at < entry.happened_at], pieces).left or 1


def last_done(entries: Iterable[Entry], begun_at: datetime | None = None) -> dict[str, datetime]:
    """When what was last done.

    Returns:
        By care name; "weighed", "tasted"; "looked" (the rind was seen), "clean" (and nothing was new); "begun" (the
        first thing known of the wheel); "left:" and a care, or "left:*", for missed care that was left undone.
    """
    last: dict[str, datetime] = {} if begun_at is None else {"begun": begun_at}
    for entry in entries:
        last.setdefault("begun", entry.happened_at)
        for name in _does(entry):
            last[name] = entry.happened_at
    return last


def seen_too(last: Mapping[str, datetime], seen_at: datetime | None) -> dict[str, datetime]:
    """`last_done` of a wheel that was also seen in photos of its shelf, last at `seen_at`; that says nothing of new."""
    if seen_at is None or last.get("looked", seen_at) > seen_at:
        return dict(last)
    return {**last, "looked": seen_at}


def _does(entry: Entry) -> tuple[str, ...]:
    body = entry.body
    match body:
        case Care():
            return (body.care, *(("looked", "clean") if body.nothing_new else ()))
        case Looked():
            return ("looked", "clean") if body.nothing_new else ("looked",)
        case RindNote():
            return ("looked",)
        case LeftMissed():
            return tuple(LEFT + care for care in body.cares) or (EVERY_CARE,)
        case Tasting():
            return ("tasted",)
    return ("weighed",) if entry.kind == "weighing" else ()


def _origins(entries: Sequence[Entry], sheet: WheelSheet, stays: Sequence[Stay]) -> dict[str, Origin]:
    found: dict[str, Origin] = {}
    for entry in entries:
        if isinstance(entry.body, Cut):
            found |= {p.wheel_id: _from_cut(entry, i, p, sheet, stays) for i, p in enumerate(entry.body.parts, 1)}
        elif isinstance(entry.body, Lifted):
            found[entry.body.wheel_id] = _from_batch(entry, entry.body, sheet, stays)
    return found


def _from_cut(entry: Entry, number: int, part: CutPart, sheet: WheelSheet, stays: Sequence[Stay]) -> Origin:
    code = part.code or f"{sheet.code}/{number}"
    begun = _begun(stays, entry.happened_at)
    if part.covering is not None:
        begun = replace(begun, covering=part.covering, coats=1)
    return Origin(
        parent_id=str(entry.wheel_id),
        at=entry.happened_at,
        sheet=sheet.model_copy(update={"code": code, "pieces": 1, "piece_g": None}),
        begun=begun,
        weight_g=part.weight_g,
        face=part.face,
    )


def _from_batch(entry: Entry, body: Lifted, sheet: WheelSheet, stays: Sequence[Stay]) -> Origin:
    return Origin(
        parent_id=str(entry.wheel_id),
        at=entry.happened_at,
        sheet=sheet.model_copy(update={"code": body.code or f"{sheet.code}+", "pieces": body.pieces}),
        begun=_begun(stays, entry.happened_at),
        weight_g=body.weight_g / body.pieces if body.weight_g is not None else None,
    )


def _begun(stays: Sequence[Stay], at: datetime) -> Stay:
    """Where the parent stood at a moment, as the first stay of its part."""
    found = stay_at(stays, at) or (stays[-1] if stays else Stay(at))
    return replace(found, from_at=at, to_at=None)


def clean_before(entries: Sequence[Entry], note: Entry) -> datetime | None:
    """When the wheel was last seen and clean before a rind note: what the note says, else from the rounds."""
    if isinstance(note.body, RindNote) and note.body.last_clean_at is not None:
        return note.body.last_clean_at
    earlier = [e for e in entries if e.happened_at < note.happened_at]
    return last_done(earlier).get("clean")


def open_notes(entries: Sequence[Entry]) -> dict[str, datetime]:
    """The rind notes that nobody has said are gone: kind -> when it was first noted, in order."""
    found: dict[str, datetime] = {}
    for entry in entries:
        if not isinstance(entry.body, RindNote):
            continue
        if entry.body.gone:
            found.pop(entry.body.note, None)
        else:
            found.setdefault(entry.body.note, entry.happened_at)
    return found


def age_d(made_on: date | None, today: date) -> int | None:
    """Age in days on a local date; None without a day of making, 0 at the least."""
    return None if made_on is None else max((today - made_on).days, 0)


def is_alive(history: History) -> bool:
    """Whether some of it is still there as this entry of the book."""
    return history.counted.state == ALIVE


def was_cut(history: History) -> bool:
    """Whether it goes on as its parts."""
    return history.counted.state == CUT_UP


def wet_since(entries: Sequence[Entry], since: datetime) -> bool:
    """Whether care since a moment leaves the wheel heavier for a while."""
    return any(
        isinstance(e.body, Care) and e.body.care in CARE_KINDS and CARE_KINDS[e.body.care].wets
        for e in entries
        if e.happened_at >= since
    )
