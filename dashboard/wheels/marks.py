"""Which flags the entries of one wheel carry, judged from its history; pure."""

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from dashboard.wheels.bodies.doings import Care, RindNote, Weighing
from dashboard.wheels.history import History, wet_since
from dashboard.wheels.kinds.care import CARE_KINDS
from dashboard.wheels.kinds.rind import RIND_KINDS
from dashboard.wheels.losses import NetWeight, share_kept
from dashboard.wheels.model import Entry
from dashboard.wheels.plausible import doubt

DAY_S = 86_400


def marks_of(
    entries: Sequence[Entry],
    history: History,
    *,
    own_words: Collection[tuple[str, str]] = (),
    code_taken: bool = False,
) -> dict[str, set[str]]:
    """The flags that are judged anew whenever the wheel's entries change, by entry id.

    Args:
        entries: the wheel's standing entries in order.
        history: what they say together.
        own_words: (of, name) of the household's own kinds.
        code_taken: whether an older wheel carries the same code.
    """
    found: dict[str, set[str]] = defaultdict(set)
    for entry_id in history.counted.late:
        found[entry_id].add("after_end")
    for entry_id in history.counted.excess:
        found[entry_id].add("too_many_pieces")
    for entry in entries:
        found[entry.id] |= _of_itself(entry, history, own_words, code_taken)
    _weigh(entries, history.weights, found)
    return found


def _of_itself(entry: Entry, history: History, own_words: Collection[tuple[str, str]], code_taken: bool) -> set[str]:
    flags = set()
    if not history.known:
        flags.add("unknown_wheel")
    if history.sheet.made_on and _on(entry.happened_at) < history.sheet.made_on and entry.kind != "wheel":
        flags.add("before_made")
    if code_taken and entry.kind == "wheel" and "code" in entry.body.model_fields_set:
        flags.add("code_taken")
    if _unknown_word(entry, own_words):
        flags.add("unknown_word")
    return flags


def _on(at: datetime) -> date:
    """The latest date it can have been anywhere: a flag must not hang on the zone."""
    return (at + timedelta(days=1)).date()


def _unknown_word(entry: Entry, own_words: Collection[tuple[str, str]]) -> bool:
    if isinstance(entry.body, Care):
        return entry.body.care not in CARE_KINDS and ("care", entry.body.care) not in own_words
    if isinstance(entry.body, RindNote):
        return entry.body.note not in RIND_KINDS and ("rind_note", entry.body.note) not in own_words
    return False


@dataclass(slots=True)
class _Before:
    """An earlier weighing, and what the wheel would weigh by it now but for drying."""

    weight: NetWeight
    now_g: float


def _weigh(entries: Sequence[Entry], weights: Sequence[NetWeight], found: dict[str, set[str]]) -> None:
    """Doubt each weighing against the last one in good standing; one that the next bears out is in good standing."""
    by_entry = {weight.entry_id: weight for weight in weights}
    good: _Before | None = None
    odd: _Before | None = None
    for entry in entries:
        weight = by_entry.get(entry.id)
        if weight is None:
            for before in filter(None, (good, odd)):
                before.now_g *= share_kept(entry, before.now_g)
            continue
        this = _Before(weight, weight.net_g)
        flag = _doubted(entries, weight, good)
        if flag is None or _doubted(entries, weight, odd or good) is None:
            good, odd = this, None
        elif isinstance(entry.body, Weighing) and entry.body.insisted:
            found[entry.id].add("kept_as_typed")
            good, odd = this, None
        else:
            found[entry.id].add(flag)
            odd = this


def _doubted(entries: Sequence[Entry], weight: NetWeight, before: _Before | None) -> str | None:
    if before is None:
        return None
    between = [e for e in entries if before.weight.at <= e.happened_at <= weight.at]
    days = (weight.at - before.weight.at).total_seconds() / DAY_S
    wet = weight.wet or wet_since(between, before.weight.at)
    step_g = max(weight.step_g or 0, before.weight.step_g or 0)
    why = doubt(weight.net_g, before.now_g, days, wet=wet, step_g=step_g)
    return why.flag if why else None
