"""The wheel book through its pages on a real PostgreSQL: entered there, and brought there from SQLite as a file."""

import re
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine, delete, insert, select

from collector.clock import ManualClock
from collector.readings.store import SqliteReadings
from collector.records.columns import new_id
from collector.records.tables import place, setting
from collector.settings import Settings
from dashboard.app import create_app
from dashboard.people.person import Role
from dashboard.settings import DashboardSettings
from dashboard.wheels import tables
from tests.dashboard.api.test_photos import a_photo
from tests.dashboard.conftest import signed_in
from tests.dashboard.pages.test_caves import words_of
from tests.dashboard.pages.test_makes import FULL
from tests.dashboard.pages.test_wheels_add import confirmed

LINES = "24-07B tomme 3 Feb 2.1 kg lower fridge\n24-08 blue 1 March 1.4 kg lower fridge\n14 pieces 240 g each waxed"
DONE = (
    ("weighing", {"weight": "2.02 kg", "board": "new", "board_name": "Oak", "board_tare": "10"}),
    ("care", {"care": "washed", "with_what": "brine"}),
    ("care", {"care": "turned", "nothing_new": "yes"}),
    ("rind_note", {"note": "black_spots", "where": "edge", "how_bad": "2"}),
    ("tasting", {"verdict": "4", "flavour": "hazelnut", "next_time": "salt longer"}),
    ("took_out", {"what": "plug", "taken": "12"}),
)
PATHS = (
    "/wheels",
    "/wheels?addition=&style=&code=24",
    "/wheels/finished",
    "/wheels/{wheel}",
    "/wheels/{wheel}/photos",
    "/at/{wheel}",
    "/wheels/{wheel}/side-by-side",
    "/caves/{cave}/side-by-side",
    "/caves/{cave}",
    "/wheels/by-age?age=30",
    "/wheels/ripe",
    "/makes",
    "/makes/{make}",
    "/makes/{make}/sheet",
    "/makes/{make}/card",
    "/round",
    "/round/paper",
    "/round/order",
    "/gear",
    "/waiting",
    "/wheels/move?from={cave}",
    "/wheels/labels",
    "/settings/book",
    "/settings/calendar",
    "/rind/notes/{note}/vat-or-cave",
    "/rind/kinds/black_spots/vat-or-cave?span=all",
)
AN_ID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[0-9a-f]{4}-[0-9a-f]{12}")


@pytest.fixture
def on_postgres(
    postgres: Engine, postgres_server: str, tmp_path: Path, clock: ManualClock
) -> Iterator[Callable[[Role], TestClient]]:
    """People who are signed in to a house whose records and book lie in PostgreSQL."""
    settings = Settings(data=tmp_path / "second", records_url=postgres_server)
    settings.data.mkdir()
    SqliteReadings(settings.readings_path).close()
    with postgres.begin() as db:
        db.execute(delete(place))
        db.execute(insert(setting), [{"key": "household.time_zone", "value": "UTC"}])
        db.execute(insert(setting), [{"key": "first_start.done", "value": True}])
    app = create_app(settings, DashboardSettings(), clock)
    with ExitStack() as stack:
        yield lambda role: stack.enter_context(signed_in(app, postgres, clock, role))
    app.state.house.engine.dispose()


@pytest.fixture
def on_sqlite(settings: Settings, visitor: Callable[[Role], TestClient]) -> Callable[[Role], TestClient]:
    SqliteReadings(settings.readings_path).close()
    return visitor


def kept(answer: object) -> str:
    """Where a form leads once it was taken."""
    assert getattr(answer, "status_code", 0) == 303, getattr(answer, "text", "")[:2_000]
    return str(answer.headers["location"])  # type: ignore[attr-defined]


def live(helper: TestClient) -> None:
    """Some weeks of a book, all of it typed into pages."""
    kept(helper.post("/wheels/add/keep", data=confirmed(helper.post("/wheels/add", data={"lines": LINES}).text)))
    wheel, blue = (id_of(helper, f"/wheels/{code}", "/wheels/") for code in ("24-07B", "24-08"))
    for kind, form in DONE:
        kept(helper.post(f"/at/{wheel}/{kind}", data={"seed": new_id(), **form}))
    photo = {"photo": ("rind.jpg", a_photo(), "image/jpeg")}
    kept(helper.post(f"/at/{blue}/rind_note", data={"seed": new_id(), "note": "crack"}, files=photo))
    make = kept(helper.post("/makes/new", data={"seed": new_id(), **FULL}))
    kept(helper.post(f"{make}/wheels", data={"seed": new_id(), "count": "2", "pieces": "1", "code": "26-03"}))
    kept(helper.post(f"/wheels/{blue}/do/ended", data={"seed": new_id(), "how": "given", "to_whom": "The neighbour"}))
    undone = helper.post(f"/at/{wheel}/care", data={"seed": new_id(), "care": "oiled"})
    kept(undone)
    undo = re.search(r'action="([^"]*undo[^"]*)"', helper.get(f"/at/{wheel}").text)
    assert undo is not None
    kept(helper.post(undo[1]))


def id_of(client: TestClient, path: str, before: str) -> str:
    return kept(client.get(path)).removeprefix(before)


def named(engine: Engine) -> dict[str, str]:
    """What the paths ask for, from the book itself."""
    e = tables.entry.c
    with engine.connect() as db:
        wheel = db.execute(select(tables.wheel.c.id).where(tables.wheel.c.code == "24-07B")).scalar_one()
        note = db.execute(select(e.id).where(e.kind == "rind_note", e.wheel_id == wheel)).scalar_one()
        make = db.execute(select(tables.make.c.id)).scalar_one()
        cave = db.execute(select(tables.wheel.c.place_id).where(tables.wheel.c.id == wheel)).scalar_one()
    return {"wheel": wheel, "note": note, "make": make, "cave": cave}


def told(client: TestClient, engine: Engine) -> dict[str, list[str]]:
    """The words of every page of the book, without ids and in no order: some lists stand by id."""
    ids = named(engine)
    found = {}
    client.get("/more")  # takes the note of what was done last
    for path in PATHS:
        answer = client.get(path.format(**ids))
        assert answer.status_code == 200, f"{path}: {answer.text[:2_000]}"
        found[path] = sorted(AN_ID.sub("an id", words_of(answer.text)).split())
    return found


def differing(one: dict[str, list[str]], other: dict[str, list[str]]) -> dict[str, list[str]]:
    """The words that stand on a page of one house and not on that of the other."""
    found = {}
    for path in one:
        here, there = Counter(one[path]), Counter(other[path])
        if here != there:
            found[path] = sorted(((here - there) + (there - here)).elements())
    return found


def test_the_book_is_lived_in_on_postgresql_as_on_sqlite(
    on_postgres: Callable[[Role], TestClient], on_sqlite: Callable[[Role], TestClient], postgres: Engine, engine: Engine
) -> None:
    owners = {}
    for client, database in ((on_postgres("owner"), postgres), (on_sqlite("owner"), engine)):
        with database.begin() as db:
            db.execute(insert(place), [{"id": new_id(), "name": "Lower fridge", "kind": "cave", "position": 0}])
        live(client)
        owners[database.dialect.name] = told(client, database)
    assert differing(owners["postgresql"], owners["sqlite"]) == {}


def test_a_book_typed_into_sqlite_goes_out_as_a_file_and_into_postgresql(
    on_postgres: Callable[[Role], TestClient], on_sqlite: Callable[[Role], TestClient], postgres: Engine, engine: Engine
) -> None:
    before, after = on_sqlite("owner"), on_postgres("owner")
    with engine.begin() as db:
        db.execute(insert(place), [{"id": new_id(), "name": "Lower fridge", "kind": "cave", "position": 0}])
    live(before)
    content = before.get("/settings/book/export.zip").content
    page = after.post("/settings/book/import", files={"file": ("book.zip", content)})
    assert "1 photos taken in" in page.text
    assert named(postgres) == named(engine)
    mine, theirs = told(before, engine), told(after, postgres)
    own = "/at/{wheel}"  # says of each entry who made it, but for whoever looks
    assert differing({**mine, own: []}, {**theirs, own: []}) == {}
    again = after.get("/settings/book/export.zip").content
    assert "0 entries taken in" in before.post("/settings/book/import", files={"file": ("book.zip", again)}).text
