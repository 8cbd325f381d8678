"""What the rules about probes say beside their word; pure and total."""

from collections.abc import Callable, Mapping

from collector.notify import facts
from collector.notify.amounts import amount, step
from collector.notify.household import duration, moment
from collector.notify.known import Known
from collector.quantities import QUANTITIES
from collector.quantity_words import guess_quantity
from collector.records.warnings import CaveWarning

Say = Callable[[CaveWarning, Known], list[str]]


def _kind(warning: CaveWarning) -> tuple[str, str]:
    """The quantity and its unit: facts of these rules carry neither, the field's name gives it away."""
    quantity = facts.text(warning.facts, "quantity") or guess_quantity(warning.field or "") or ""
    row = QUANTITIES.get(quantity)
    return quantity, row.unit if row is not None else ""


def _what(warning: CaveWarning) -> str:
    row = QUANTITIES.get(_kind(warning)[0])
    return f"its {row.word}" if row is not None else f"its {warning.field}" if warning.field else "it"


def _value(warning: CaveWarning, name: str, known: Known) -> str:
    value = facts.real(warning.facts, name)
    return "" if value is None else amount(value, *_kind(warning), known.household)


def _step(warning: CaveWarning, name: str, known: Known) -> str:
    value = facts.real(warning.facts, name)
    return "" if value is None else step(abs(value), *_kind(warning), known.household)


def _stuck(warning: CaveWarning, known: Known) -> list[str]:
    value, hours = _value(warning, "value", known), facts.real(warning.facts, "standing_h")
    if not value:
        return []
    long = f" for {duration(hours * 3_600)}" if hours else ""
    moved = _step(warning, "others_moved", known)
    beside = f"the probes beside it moved by {moved} meanwhile" if moved else ""
    return [part for part in (f"{_what(warning)} has stood at {value}{long}", beside) if part]


def _impossible(warning: CaveWarning, known: Known) -> list[str]:
    value = _value(warning, "value", known)
    times, of = facts.real(warning.facts, "times"), facts.real(warning.facts, "readings")
    often = f", {times:.0f} of {of:.0f} readings" if times and of else ""
    return [f"{_what(warning)} said {value}{often}"] if value else []


def _jumping(warning: CaveWarning, known: Known) -> list[str]:
    leap = _step(warning, "largest_leap", known)
    return [f"{_what(warning)} leapt by up to {leap}"] if leap else []


def _disagrees(warning: CaveWarning, known: Known) -> list[str]:
    apart = facts.real(warning.facts, "apart_by")
    others = warning.facts.get("against")
    names = [known.probe_names.get(o, o) for o in others if isinstance(o, str)] if isinstance(others, list) else []
    if apart is None:
        return []
    far = step(abs(apart), *_kind(warning), known.household)
    beside = f" than {names[0]}" if names else " than its neighbours"
    return [f"{_what(warning)} reads {far} {'higher' if apart >= 0 else 'lower'}{beside}"]


def _battery(warning: CaveWarning, known: Known) -> list[str]:
    level, empty_at = _value(warning, "level", known), facts.time_of(warning.facts, "empty_ms")
    by = f"empty by about {moment(empty_at, warning.found_at, known.household)}" if empty_at else ""
    return [part for part in (f"battery at {level}" if level else "", by) if part]


def _saturated(warning: CaveWarning, known: Known) -> list[str]:
    value = _value(warning, "value", known)
    return [f"{_what(warning)} stands at {value}"] if value else []


def _creeping(warning: CaveWarning, known: Known) -> list[str]:
    moved = _step(warning, "moved", known)
    return [f"{_what(warning)} moved by {moved} in four weeks"] if moved else []


def _over(_warning: CaveWarning, _known: Known) -> list[str]:
    return []


TELLERS: Mapping[str, tuple[Say, Say]] = {
    "stuck": (_stuck, _over),
    "impossible": (_impossible, _over),
    "jumping": (_jumping, _over),
    "disagrees": (_disagrees, _over),
    "apart": (_disagrees, _over),
    "battery_low": (_battery, _over),
    "saturated": (_saturated, _over),
    "creeping": (_creeping, _over),
}
