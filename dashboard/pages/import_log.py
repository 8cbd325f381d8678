"""Old logs: a file is handed over, how it is written is guessed and confirmed, and the collector takes it in."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Annotated, ClassVar

from fastapi import APIRouter, File, HTTPException, UploadFile
from starlette.responses import Response

from collector.errors import EntryRefused
from collector.importing.csv_file import ENDING, form_path, write_form
from collector.importing.csv_guess import Guess, guess
from collector.records.columns import new_id
from collector.records.life import Sign, signs
from dashboard.amounts import meanings_offered
from dashboard.forms import Form
from dashboard.moments_typed import ORDERS as HOUSE_ORDERS
from dashboard.places.adding import open_places
from dashboard.probes import log_form
from dashboard.probes.book import is_typed
from dashboard.probes.doing_place import place_words
from dashboard.probes.log_form import Trial
from dashboard.probes.placing import By, put, site_typed
from dashboard.visit import Owner, Texts, Visit

router = APIRouter()
PATH, PART = "/probes/import", "/probes/import/part"
MOST_BYTES = 300_000_000  # our choice: some five million rows; larger files are cut, or laid into the folder by hand
PIECE = 1_000_000
OURS = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-(?=.)")  # before the person's own name, see _kept_name
NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,150}\.csv", re.ASCII)
SEEN = timedelta(minutes=10)


@dataclass(frozen=True, slots=True)
class Progress:
    """Where the import stands: the file, how much of it, readings taken in, rows not understood, readings that were
    understood and set aside; running until nothing is left."""

    file: str
    share_pct: int
    rows: int
    refused: int
    aside: int
    running: bool


@dataclass(frozen=True, slots=True)
class ImportPart:
    template: ClassVar[str] = "import_log_part.html"
    progress: Progress | None
    queued: tuple[str, ...]
    waiting: Mapping[str, str]  # as it is called, by the kept name


@dataclass(frozen=True, slots=True)
class ImportPage:
    template: ClassVar[str] = "import_log.html"
    title: str
    part: ImportPart
    path: str
    form: Form


@dataclass(frozen=True, slots=True)
class ConfirmPage:
    template: ClassVar[str] = "import_log_confirm.html"
    title: str
    file: str
    called: str
    form: Form
    found: Guess
    columns: Mapping[str, str]
    meanings: Mapping[str, str]
    orders: Mapping[str, str]
    decimals: Mapping[str, str]
    delimiters: Mapping[str, str]
    clocks: Mapping[str, str]
    probes: Mapping[str, str]
    places: Mapping[str, str]
    trial: Trial | None


@router.get(PATH)
def logs(visit: Owner) -> Response:
    return visit.page(ImportPage("Old logs", _part(visit), PART, Form()))


@router.get(PART)
def logs_part(visit: Owner) -> Response:
    part = _part(visit)
    return visit.fragment((part,), lambda: part)


def _part(visit: Visit) -> ImportPart:
    folder = visit.house.settings.import_folder
    files = sorted(folder.glob(f"*{ENDING}")) if folder.is_dir() else []
    queued = tuple(_called(path.name) for path in files if form_path(path).exists())
    asking = [path.name for path in files if not form_path(path).exists() and NAME.fullmatch(path.name)]
    waiting = {name: _called(name) for name in asking}
    with visit.looking() as db:
        found = signs(db).get("import")
    return ImportPart(_progress(found, visit), queued, waiting)


def _progress(found: Sign | None, visit: Visit) -> Progress | None:
    if found is None or visit.now_at - found.at > SEEN:
        return None
    facts = found.facts
    size, left = int(facts.get("file_bytes", 0)), int(facts.get("left_bytes", 0))
    share = min(100, round(100 * int(facts.get("read_bytes", 0)) / size)) if size else 100
    rows, refused, aside = (int(facts.get(name, 0)) for name in ("rows", "refused", "aside"))
    return Progress(_called(str(facts.get("file", ""))), share, rows, refused, aside, left > 0)


@router.post(PATH, max_body_size=MOST_BYTES)
def hand_over(visit: Owner, log: Annotated[UploadFile | None, File()] = None) -> Response:
    """Keep the file in the import folder; nothing of it is taken in before its form is confirmed."""
    if log is None or not log.size:
        form = Form().wrong("log", "Choose a file that is not empty.")
        return visit.refused(ImportPage("Old logs", _part(visit), PART, form))
    name = _kept_name(log.filename or "")
    folder = visit.house.settings.import_folder
    folder.mkdir(parents=True, exist_ok=True)
    half = folder / f"{name}.part"
    with half.open("wb") as file:
        while piece := log.file.read(PIECE):
            file.write(piece)
    half.replace(folder / name)
    return visit.go(f"{PATH}/{name}", "The file is here. Look whether it is read rightly.")


def _kept_name(name: str) -> str:
    """A name of our own with what of the person's name is safe in a path."""
    stem = re.sub(r"[^A-Za-z0-9_-]+", "-", Path(name.replace("\\", "/")).stem)[:60].strip("-") or "log"
    return f"{new_id()[:13]}-{stem}{ENDING}"


def _called(name: str) -> str:
    """What the person called it, as far as the kept name has that."""
    return OURS.sub("", name, count=1)


@router.get("/probes/import/{file}")
def confirm(visit: Owner, file: str, delimiter: str = "") -> Response:
    path = _path(visit, file)
    found = _guess(visit, path, delimiter)
    return visit.page(_confirm(visit, path, found, Form(log_form.texts_of(found, Path(_called(path.name)).stem))))


def _path(visit: Visit, file: str) -> Path:
    """A file that waits for its form."""
    path = visit.house.settings.import_folder / file
    if not NAME.fullmatch(file) or not path.is_file() or form_path(path).exists():
        raise HTTPException(404)
    return path


def _guess(visit: Visit, path: Path, delimiter: str) -> Guess:
    said = delimiter if delimiter in log_form.DELIMITERS else ""
    return guess(log_form.head_of(path), HOUSE_ORDERS[visit.household.date_form], said)


def _topics(visit: Visit) -> dict[str, str]:
    return {p.name: p.topic for p in (visit.readings.probes() if visit.readings else ()) if not is_typed(p.name)}


def _confirm(visit: Visit, path: Path, found: Guess, form: Form) -> ConfirmPage:
    with visit.looking() as db:
        places = place_words(open_places(db))
    return ConfirmPage(
        title="Is it read rightly?",
        file=path.name,
        called=_called(path.name),
        form=form,
        found=found,
        columns={
            str(c.number): f"{c.number + 1}: {c.heading or (c.cells[0] if c.cells else '')}" for c in found.columns
        },
        meanings={"": "Leave it out", **meanings_offered({form.text(f"c{c.number}") for c in found.columns})},
        orders=log_form.ORDERS,
        decimals=log_form.DECIMALS,
        delimiters=log_form.DELIMITERS,
        clocks=log_form.clocks(visit.household, visit.now_at),
        probes={log_form.NEW: "A new one, named below", **{name: name for name in sorted(_topics(visit))}},
        places={"": "Say so later", **places},
        trial=_trial(visit, path, found, form),
    )


def _trial(visit: Visit, path: Path, found: Guess, form: Form) -> Trial | None:
    """The first rows as they would be taken in; a name for the probe is not needed for that."""
    try:
        read = log_form.read({**form.texts, "probe": "", "name": "trial"}, found, visit.household, {})
    except EntryRefused:
        return None
    return log_form.try_on(log_form.head_of(path), read, visit.household, visit.now_at)


@router.post("/probes/import/{file}")
def take_in(visit: Owner, file: str, texts: Texts) -> Response:
    """Write down how the log is written; from then on the collector takes it in."""
    path = _path(visit, file)
    found = _guess(visit, path, texts.get("delimiter", ""))
    if texts.get("do") == "look":
        return visit.page(_confirm(visit, path, found, Form(texts)))
    try:
        form = log_form.read(texts, found, visit.household, _topics(visit))
        trial = log_form.try_on(log_form.head_of(path), form, visit.household, visit.now_at)
        if trial.first_at is None:
            raise EntryRefused("columns", f"None of the first rows can be taken in: {trial.why or 'no value in them'}.")
        with visit.changing() as db:
            if texts.get("place"):
                known = {place.id: place for place, _ in open_places(db)}
                if texts["place"] not in known:
                    raise EntryRefused("place", "Take one of the places, or say so later.")
                place = known[texts["place"]]
                by = By(visit.person.name, visit.now_at)
                put(db, form.probe, place, site_typed({}, place), trial.first_at, by)
    except EntryRefused as refused:
        return visit.refused(_confirm(visit, path, found, Form(texts).wrong(refused.field, str(refused))))
    write_form(path, form)
    return visit.go(PATH, "It is taken in now, a little at a time. What comes live goes first.")


@router.post("/probes/import/{file}/drop")
def drop(visit: Owner, file: str) -> Response:
    """Throw a file away that nothing was taken from."""
    _path(visit, file).unlink()
    return visit.go(PATH, "The file is thrown away.")
