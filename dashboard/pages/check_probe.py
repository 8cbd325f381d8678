"""Checking a probe: led through the salt test, or beside a checked one; the result is shown before it is kept."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import ClassVar

from fastapi import APIRouter, HTTPException
from starlette.responses import Response

from collector.calibration.fit import MOST_POINTS
from collector.calibration.salts import BY_NAME, USUAL, Salt
from collector.errors import EntryRefused
from collector.records.columns import to_ms
from dashboard import links_to
from dashboard.forms import Form
from dashboard.probes import check_air, checking
from dashboard.probes.book import Book, is_typed, load
from dashboard.probes.check_keeping import keep
from dashboard.probes.check_shown import CheckPart, Past, part_of, past, since_choices
from dashboard.probes.checking import Pending
from dashboard.visit import Guest, Owner, Texts, Visit

router = APIRouter()
SEPARATOR = "\t"  # between a probe's name and its field in a form; neither can hold one in a topic of ours


@dataclass(frozen=True, slots=True)
class CheckPage:
    template: ClassVar[str] = "check_probe.html"
    title: str
    called: str
    probe_path: str
    action: str
    part: CheckPart
    form: Form
    salts: tuple[Salt, ...]
    more_salts: tuple[Salt, ...]
    fields: Mapping[str, str]
    damp_fields: Mapping[str, str]
    thermometers: Mapping[str, str]
    beside: Mapping[str, str]
    since: Mapping[str, str]
    past: tuple[Past, ...]
    may_change: bool
    room_for_more: bool


@router.get("/probes/check/{path:path}")
def check(visit: Guest, path: str, do: str = "") -> Response:
    name = links_to.probe_of(path)
    with visit.looking() as db:
        book, pending = _book(visit, name), checking.load(db, name)
    if do == "part":
        tag = (
            book.tag(),
            pending,
            visit.readings.newest_change() if visit.readings else 0,
            to_ms(visit.now_at) // 60_000,
        )
        return visit.fragment(tag, lambda: _part(visit, book, name, pending))
    salt = "K2SO4" if pending and pending.points else "NaCl"
    return visit.page(_page(visit, name, Form({"since": "now", "salt": salt})))


def _book(visit: Visit, name: str) -> Book:
    with visit.looking() as db:
        book = load(db, visit.readings)
    if name not in book.seen or is_typed(name) or not check_air.fields_of(book, name, visit.now_at):
        raise HTTPException(404)
    return book


def _part(visit: Visit, book: Book, name: str, pending: Pending | None) -> CheckPart:
    if visit.readings is None:
        raise HTTPException(404)
    return part_of(visit.readings, book, name, pending, visit.now_at, visit.person.may("owner"))


def _page(visit: Visit, name: str, form: Form) -> CheckPage:
    book = _book(visit, name)
    with visit.looking() as db:
        pending = checking.load(db, name)
    if visit.readings is None:
        raise HTTPException(404)
    fields = {field: f"{field}" for field in check_air.fields_of(book, name, visit.now_at)}
    damp = {field: field for field in check_air.fields_of(book, name, visit.now_at, ("humidity",))}
    return CheckPage(
        title="Check a probe",
        called=book.called(name),
        probe_path=links_to.probe(name),
        action=links_to.check(name),
        part=_part(visit, book, name, pending),
        form=form,
        salts=tuple(BY_NAME[one] for one in USUAL),
        more_salts=tuple(salt for key, salt in BY_NAME.items() if key not in USUAL),
        fields=fields,
        damp_fields=damp,
        thermometers=_thermometers(book, name, visit),
        beside={f"{c.probe}{SEPARATOR}{c.field}": f"{book.called(c.probe)}: {c.field}"
                for c in check_air.checked_ones(book, name, visit.now_at)},
        since=since_choices(book, name, pending, visit.now_at),
        past=past(visit.readings, book, name, visit.now_at),
        may_change=visit.person.may("owner"),
        room_for_more=pending is None or len(pending.points) < MOST_POINTS,
    )  # fmt: skip


def _thermometers(book: Book, name: str, visit: Visit) -> dict[str, str]:
    """What may lie in the jar: the probe's own thermometer first, then those of others."""
    order = [name, *sorted(other for other in book.channels if other != name and not is_typed(other))]
    return {
        f"{probe}{SEPARATOR}{field}": f"{book.called(probe)}: {field}"
        for probe in order
        for field in check_air.fields_of(book, probe, visit.now_at, ("temperature", "surface_temperature"))
    }


@router.post("/probes/check/{path:path}/close")
def close(visit: Owner, path: str, texts: Texts) -> Response:
    """The jar is closed, with the probe and its salt in it."""
    name = links_to.probe_of(path)
    book, shown = _book(visit, name), _page(visit, name, Form(texts))
    field = texts.get("field") or next(iter(shown.damp_fields), "")
    thermometer = texts.get("thermometer") or next(iter(shown.thermometers), "")
    if texts.get("salt") not in BY_NAME:
        return visit.refused(replace(shown, form=shown.form.wrong("salt", "Say which salt is in the jar.")))
    if field not in shown.damp_fields or thermometer not in shown.thermometers:
        wrong = "The salt test needs a humidity, and a thermometer in the jar."
        return visit.refused(replace(shown, form=shown.form.wrong("salt", wrong)))
    with visit.changing() as db:
        before = checking.load(db, name)
        begun = before if before and before.field == field else Pending(field)
        probe, _, warm = thermometer.partition(SEPARATOR)
        now = replace(begun, thermometer=(probe, warm), salt=texts["salt"], since_ms=to_ms(visit.now_at), beside=())
        checking.save(db, name, now)
    return visit.go(links_to.check(name), f"Started. {book.called(name)} is watched.")


@router.post("/probes/check/{path:path}/take")
def take(visit: Owner, path: str) -> Response:
    """Take the settled reading as a point; refused while anything moves."""
    name = links_to.probe_of(path)
    book = _book(visit, name)
    with visit.looking() as db:
        pending = checking.load(db, name)
    if pending is None or not pending.salt or visit.readings is None:
        return visit.go(links_to.check(name), "No jar is closed.")
    found = check_air.in_jar(visit.readings, book, name, pending, visit.now_at)
    if found is None:
        raise HTTPException(404)
    try:
        point = check_air.point_over(pending.salt, found)
    except EntryRefused as refused:
        return visit.refused(_page(visit, name, Form({"since": "now"}).wrong(refused.field, str(refused))))
    with visit.changing() as db:
        checking.save(db, name, pending.taken(point))
    return visit.go(links_to.check(name), "The point is taken. The jar may be opened.")


@router.post("/probes/check/{path:path}/beside")
def beside(visit: Owner, path: str, texts: Texts) -> Response:
    """Both hang in the same air from now on."""
    name = links_to.probe_of(path)
    _book(visit, name)
    shown = _page(visit, name, Form(texts))
    field, other = texts.get("field") or next(iter(shown.fields), ""), texts.get("beside", "")
    if field not in shown.fields or other not in shown.beside:
        return visit.refused(
            replace(shown, form=shown.form.wrong("beside", "Say which checked probe hangs beside it."))
        )
    probe, _, theirs = other.partition(SEPARATOR)
    with visit.changing() as db:
        checking.save(db, name, Pending(field, since_ms=to_ms(visit.now_at), beside=(probe, theirs)))
    return visit.go(links_to.check(name), "Started. Leave both where they hang for at least six hours.")


@router.post("/probes/check/{path:path}/drop")
def drop_point(visit: Owner, path: str, texts: Texts) -> Response:
    """Leave out a point that was taken."""
    name, number = links_to.probe_of(path), texts.get("point", "")
    with visit.changing() as db:
        pending = checking.load(db, name)
        if pending is not None and number.isdecimal():
            checking.save(db, name, pending.without(int(number)))
    return visit.go(links_to.check(name), "The point is left out.")


@router.post("/probes/check/{path:path}/open")
def open_jar(visit: Owner, path: str) -> Response:
    """Stop waiting; points that were taken stay."""
    name = links_to.probe_of(path)
    with visit.changing() as db:
        pending = checking.load(db, name)
        if pending is not None and pending.points:
            checking.save(db, name, replace(pending, salt="", since_ms=0, beside=()))
        else:
            checking.drop(db, name)
    return visit.go(links_to.check(name), "Stopped.")


@router.post("/probes/check/{path:path}/forget")
def forget(visit: Owner, path: str) -> Response:
    """Keep nothing of this check."""
    name = links_to.probe_of(path)
    with visit.changing() as db:
        checking.drop(db, name)
    return visit.go(links_to.check(name), "Nothing of it was kept.")


@router.post("/probes/check/{path:path}/keep")
def keep_result(visit: Owner, path: str, texts: Texts) -> Response:
    """Apply the result from the chosen date on, to the readings that are stored already too."""
    name = links_to.probe_of(path)
    book = _book(visit, name)
    with visit.looking() as db:
        pending = checking.load(db, name)
    if pending is None or visit.readings is None:
        return visit.go(links_to.check(name), "There is nothing to keep.")
    try:
        with visit.changing() as db:
            said = keep(db, visit.readings, book, name, pending, texts, visit)
    except EntryRefused as refused:
        return visit.refused(_page(visit, name, Form(texts).wrong(refused.field, str(refused))))
    return visit.go(links_to.probe(name), said)
