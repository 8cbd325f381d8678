"""From what the scale showed to what the wheel lost; pure. Weights are grams.

Water is lost, cheese is taken out, wax is put on: only the first counts as loss. So what is taken out or put on
changes the 100 % in the same share as it changed the wheel.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from dashboard.wheels.bodies.doings import Covered, TookOut, Weighing
from dashboard.wheels.kinds.endings import STARTS
from dashboard.wheels.model import Entry

FIRST, CUT = "first", "cut"
START_WORDS: dict[str, str] = {**STARTS, FIRST: "first weighing", CUT: "cut or lifted out"}


@dataclass(frozen=True, slots=True)
class NetWeight:
    """A weighing without its board; of a batch, the weight of one piece."""

    at: datetime
    net_g: float
    entry_id: str
    wet: bool = False
    start: str | None = None
    step_g: float | None = None


@dataclass(frozen=True, slots=True)
class Start:
    """The weight that is 100 %, and its name out of START_WORDS."""

    name: str
    at: datetime
    net_g: float

    @property
    def word(self) -> str:
        return START_WORDS[self.name]


@dataclass(frozen=True, slots=True)
class LossPoint:
    """A weighing and the loss since the start, percent of it; negative where the wheel took up water."""

    at: datetime
    net_g: float
    loss_pct: float
    wet: bool
    entry_id: str


def net_weight(entry: Entry, pieces: int = 1) -> NetWeight:
    """The weighing of an entry, net of its board's tare and for one piece of `pieces` on the scale."""
    body = entry.body
    if not isinstance(body, Weighing):
        raise ValueError(f"entry {entry.id} is no weighing but {entry.kind}")
    net_g = (body.scale_g - body.tare_g) / (body.pieces or max(pieces, 1))
    return NetWeight(entry.happened_at, net_g, entry.id, body.wet, body.start, body.step_g)


def starts_of(weights: Sequence[NetWeight], cut: Start | None = None) -> dict[str, Start]:
    """The named starts that were weighed; of one name the last weighing counts."""
    found = {CUT: cut} if cut else {}
    for weight in weights:
        if weight.start is not None:
            found[weight.start] = Start(weight.start, weight.at, weight.net_g)
    return found


def counted_from(weights: Sequence[NetWeight], cut: Start | None = None) -> Start | None:
    """The start that loss counts from: the last named one, else where a part began, else the first weighing.

    A part starts at its own 100 %, so its parent's names are not among its own. Of weighings without a name a dry
    one is preferred.
    """
    named = starts_of(weights, cut)
    for name in reversed(STARTS):
        if name in named:
            return named[name]
    if cut is not None:
        return cut
    first = next((w for w in weights if not w.wet), weights[0] if weights else None)
    return Start(FIRST, first.at, first.net_g) if first else None


def losses_of(entries: Sequence[Entry], weights: Sequence[NetWeight], start: Start | None) -> list[LossPoint]:
    """The loss at each weighing from the start on.

    Args:
        entries: the wheel's standing entries in order; taken-out pieces and coverings are read from them.
        weights: its weighings in order.
        start: what is 100 %; None: no loss is known.
    """
    if start is None:
        return []
    by_entry = {weight.entry_id: weight for weight in weights}
    whole_g, before_g, points = start.net_g, start.net_g, []
    for entry in entries:
        if entry.happened_at < start.at:
            continue
        weight = by_entry.get(entry.id)
        if weight is not None:
            before_g = weight.net_g
            points.append(LossPoint(weight.at, weight.net_g, _loss_pct(whole_g, weight.net_g), weight.wet, entry.id))
        else:
            share = share_kept(entry, before_g)
            whole_g, before_g = whole_g * share, before_g * share
    return points


def _loss_pct(whole_g: float, net_g: float) -> float:
    return 100 * (1 - net_g / whole_g)


def share_kept(entry: Entry, before_g: float) -> float:
    """By which factor an entry changed the wheel's weight without drying it; 1 for most, above 1 for wax put on.

    Args:
        entry: any entry of the wheel.
        before_g: what it weighed before, used when the entry does not say [g], above 0.
    """
    body = entry.body
    if isinstance(body, TookOut) and body.taken_g is not None:
        before_g = body.before_g or before_g
        return max(before_g - body.taken_g, before_g * 0.01) / before_g
    if isinstance(body, TookOut | Covered) and body.after_g is not None:
        return body.after_g / (body.before_g or before_g)
    return 1.0
