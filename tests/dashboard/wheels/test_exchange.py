"""The whole book out and in, between databases."""

import csv
import io
import json
import zipfile
from hashlib import sha256
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import Connection, Engine, delete, insert, select

from collector.errors import EntryRefused
from collector.records.tables import place
from dashboard.wheels import tables
from dashboard.wheels.bodies.base import Body
from dashboard.wheels.bodies.doings import Care, Chore, Cut, CutPart, Ended, Note, RindNote, Withdrawn
from dashboard.wheels.bodies.make import MakeSheet, Milk
from dashboard.wheels.bodies.sheets import GearSheet, OwnKind
from dashboard.wheels.csv_tables import safe_cell
from dashboard.wheels.entries import NewEntry, put_all
from dashboard.wheels.exchange import export_book, import_book
from dashboard.wheels.kinds.styles import STYLES
from dashboard.wheels.labels_given import give_label
from dashboard.wheels.photos import put_photo
from tests.dashboard.wheels.builders import (
    CELLAR,
    MAKE,
    OTHER,
    SHELF,
    STYLE,
    WHEEL,
    a_wheel,
    an_id,
    covered,
    day,
    moved,
    new,
    turned,
    weighed,
)
from tests.dashboard.wheels.test_photos import a_jpeg

PART, PHOTO = an_id(day(61)), an_id(day(62))


def about(body: Body, at: float = 0, **refs: str) -> NewEntry:
    return new(body, at, wheel=None, **refs)


def a_full_book(engine: Engine, photos: Path) -> None:
    turn = new(turned(text='said "no"; =1+1, è, 日本, \u2028 and a tab\t'), 3)
    entries = [
        about(STYLES["tomme"], style_id=STYLE),
        about(MakeSheet(code="24-07", heat="raw", milks=(Milk(volume_l=100),), rennet_at=day(0)), make_id=MAKE),
        about(OwnKind(of="rind_note", name="velvet", word="velvet")),
        new(a_wheel(make_id=MAKE, style_id=STYLE)),
        new(moved(spot="top"), place_id=SHELF),
        turn,
        about(Withdrawn(), 4, replaces=turn.id),
        new(weighed(2_000, start="cave"), 1),
        new(weighed(2_900), 9),
        new(covered("wax"), 20, sent_at=day(20, 3)),
        new(RindNote(note="velvet", photos=(PHOTO,)), 30),
        new(Cut(parts=(CutPart(wheel_id=PART, weight_g=900),)), 60),
        new(Ended(how="given", to_whom="an aunt"), 70, wheel=PART),
        new(Care(care="sung_to"), 5, wheel=OTHER),
        about(Chore(chore="defrosted"), 8, place_id=CELLAR),
        about(GearSheet(gear="board", name="B4", tare_g=650), gear_id=an_id()),
    ]
    with engine.begin() as db:
        put_all(db, entries, received_at=day(20, 4), who="the cheesemaker")
        give_label(db, "wheel", WHEEL, day(2))
        db.execute(insert(tables.forecast).values(**a_forecast()))
    put_photo(engine, photos, PHOTO, a_jpeg(), received_at=day(31), who="the cheesemaker")


def a_forecast() -> dict:
    times = {"made_at": day(30), "due_at": day(90), "came_at": None, "came": None}
    values = {"low": 1_700.0, "middle": 1_750.5, "high": 1_800.0, "unit": "g"}
    return {"id": an_id(), "wheel_id": WHEEL, "kind": "weight", "facts": {"k": 3e-9}, **times, **values}


ALL = (*tables.BOOK, *tables.DERIVED, place)


def everything(db: Connection) -> dict[str, list]:
    return {table.name: sorted(map(repr, db.execute(select(table)).all())) for table in ALL}


def contents(engine: Engine) -> dict[str, list]:
    with engine.connect() as db:
        return everything(db)


def exported(engine: Engine, photos: Path) -> io.BytesIO:
    out = io.BytesIO()
    export_book(engine, photos, out, day(100))
    out.seek(0)
    return out


@pytest.fixture
def full(book: Engine, tmp_path: Path) -> Engine:
    a_full_book(book, tmp_path / "photos")
    return book


@pytest.fixture
def full_file(full: Engine, tmp_path: Path) -> io.BytesIO:
    return exported(full, tmp_path / "photos")


def emptied(engine: Engine) -> Engine:
    with engine.begin() as db:
        for table in (*tables.BOOK, *tables.DERIVED):
            db.execute(delete(table))
        db.execute(delete(place).where(place.c.parent_id.is_not(None)))
        db.execute(delete(place))
    return engine


def test_the_way_from_sqlite_to_postgresql_and_back_changes_nothing(
    full: Engine, postgres: Engine, tmp_path: Path
) -> None:
    before = contents(full)
    assert all(before[name] for name in before), "a table that is empty proves nothing"
    done = import_book(emptied(postgres), tmp_path / "there", exported(full, tmp_path / "photos"))
    assert (done.conflicts, done.problems) == ([], [])
    assert contents(postgres) == before
    import_book(emptied(full), tmp_path / "back", exported(postgres, tmp_path / "there"))
    assert contents(full) == before
    assert files(tmp_path / "back") == files(tmp_path / "photos")


def files(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.rglob("*.jpg")}


def test_importing_twice_changes_nothing(full: Engine, full_file: io.BytesIO, tmp_path: Path) -> None:
    before = contents(full)
    done = import_book(full, tmp_path / "photos", full_file)
    assert not done.stored.total()
    assert done.same == {"place": 2, "entry": 16, "photo": 1, "label": 1, "forecast": 1}
    assert contents(full) == before


def test_what_is_here_with_other_content_is_kept_and_named(full: Engine, full_file: io.BytesIO, tmp_path: Path) -> None:
    with full.begin() as db:
        db.execute(place.update().where(place.c.id == SHELF).values(name="right shelf"))
    before = contents(full)
    assert import_book(full, tmp_path / "photos", full_file).conflicts == [f"place {SHELF}"]
    assert contents(full) == before


def test_two_books_become_one(book: Engine, tmp_path: Path) -> None:
    a_full_book(book, tmp_path / "photos")
    file = exported(book, tmp_path / "photos")
    emptied(book)
    with book.begin() as db:
        put_all(db, [new(a_wheel("mine"), wheel=an_id())], received_at=day(1))
    import_book(book, tmp_path / "photos", file)
    with book.begin() as db:
        assert set(db.execute(select(tables.wheel.c.code)).scalars()) == {"mine", "24-07B", "24-07B/1"}


def lines_of(file: io.BytesIO) -> list[str]:
    with zipfile.ZipFile(file) as zipped:
        return zipped.read("book.jsonl").decode().splitlines()


def test_the_lines_alone_are_a_book_too(full_file: io.BytesIO, postgres: Engine, tmp_path: Path) -> None:
    done = import_book(emptied(postgres), tmp_path / "none", io.BytesIO("\n".join(lines_of(full_file)).encode()))
    assert done.stored["entry"] == 16


def test_photos_that_are_named_but_not_there_are_told(full_file: io.BytesIO, postgres: Engine, tmp_path: Path) -> None:
    trimmed = io.BytesIO()
    with zipfile.ZipFile(full_file) as source, zipfile.ZipFile(trimmed, "w") as out:
        out.writestr("book.jsonl", source.read("book.jsonl"))
    done = import_book(emptied(postgres), tmp_path / "none", trimmed)
    assert len(done.problems) == 2
    assert done.problems[0].endswith("is named but has no file")


def test_a_photo_that_is_not_what_its_name_says_is_left_out(full: Engine, tmp_path: Path) -> None:
    forged = io.BytesIO()
    with zipfile.ZipFile(exported(full, tmp_path / "photos")) as source, zipfile.ZipFile(forged, "w") as out:
        out.writestr("book.jsonl", source.read("book.jsonl"))
        out.writestr(f"photos/{'a' * 64}.jpg", b"<script>")
        out.writestr(f"photos/{sha256(b'<svg>').hexdigest()}.jpg", b"<svg>")
        out.writestr("photos/../../evil.jpg", b"x")
        out.writestr("/etc/evil", b"x")
    done = import_book(full, tmp_path / "in", forged)
    assert "photo aaaaaaaa is not what its name says and was left out" in done.problems
    assert not list(tmp_path.rglob("evil*"))
    assert not files(tmp_path / "in")


@pytest.mark.parametrize(
    ("number", "change", "words"),
    [
        (0, {"version": 99}, "the file has form 99; this version reads up to 1"),
        (1, {"name": "x" * 81}, "line 2: name of the place cannot be"),
        (3, {"done_at": "soon"}, "line 4: done_at is no time, got 'soon'"),
        (3, {"done_at": "2025-03-01T08:00:00"}, "line 4: done_at has no zone"),
        (3, {"done_at": None}, "line 4: done_at of the entry cannot be 'None'"),
        (3, {"colour": "red"}, "line 4: the entry has a word too many, 'colour'"),
        (3, {"who": 7}, "line 4: who of the entry cannot be '7'"),
        (3, {"typed_time": 1}, "line 4: typed_time of the entry cannot be '1'"),
        (3, {"who": "a\x00b"}, "line 4: who of the entry cannot be"),
        (3, {"body": {"kind": "weighing", "scale_g": -1}}, "line 4: entry .*scale_g"),
    ],
)
def test_a_line_that_cannot_be_read_is_named_and_nothing_is_kept(
    number: int, change: dict, words: str, full: Engine, full_file: io.BytesIO, tmp_path: Path
) -> None:
    lines, before = lines_of(full_file), contents(full)
    lines[number] = json.dumps(json.loads(lines[number]) | change)
    with pytest.raises(EntryRefused, match=words):
        import_book(full, tmp_path / "photos", io.BytesIO("\n".join(lines).encode()))
    assert contents(full) == before


def test_a_file_that_was_cut_off_is_refused(full: Engine, full_file: io.BytesIO, tmp_path: Path) -> None:
    whole, before = "\n".join(lines_of(full_file)).encode(), contents(full)
    for length in (len(whole) - 40, len(whole) - len('{"line":"end"}'), 200):
        with pytest.raises(EntryRefused, match=r"the file was cut off|is no JSON"):
            import_book(full, tmp_path / "photos", io.BytesIO(whole[:length]))
    assert contents(full) == before


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"hello", "line 1 is no JSON"),
        (b"[1]", "line 1 does not say what it is"),
        (b'{"line":"entry"}', "the file is not a book"),
        (b"", "the file was cut off: its last line is missing"),
        (b"\xff\xfe\x00", "line 1 is no JSON: "),
        (b"[" * 100_000, "line 1 is no JSON: max"),
        (b"x" * 3_000_000, "line 1 is longer than 2 MB"),
    ],
    ids=["text", "list", "no head", "blank", "no UTF-8", "deep", "long"],
)
def test_what_is_no_book_is_refused(data: bytes, words: str, book: Engine, tmp_path: Path) -> None:
    with pytest.raises(EntryRefused, match=words):
        import_book(book, tmp_path, io.BytesIO(data))


def test_a_zip_without_a_book_is_refused(book: Engine, tmp_path: Path) -> None:
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as out:
        out.writestr("other.txt", "x")
    with pytest.raises(EntryRefused, match=r"has no book\.jsonl in it"):
        import_book(book, tmp_path, file)


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.binary(max_size=200))
def test_any_bytes_are_refused_or_read(book: Engine, tmp_path: Path, data: bytes) -> None:
    with pytest.raises(EntryRefused):
        import_book(book, tmp_path, io.BytesIO(data))


def test_the_file_says_what_it_holds(full_file: io.BytesIO) -> None:
    lines = [json.loads(line) for line in lines_of(full_file)]
    assert lines[0] == {
        "line": "book",
        "version": 1,
        "made_at": "2025-06-09T08:00:00.000Z",
        "counts": {"place": 2, "entry": 16, "photo": 1, "label": 1, "forecast": 1},
    }
    assert [line["line"] for line in lines[1:3]] == ["place", "place"]
    assert lines[1]["parent_id"] is None, "what lies above comes first"
    assert lines[-1] == {"line": "end"}
    with zipfile.ZipFile(full_file) as zipped:
        schema = json.loads(zipped.read("entries.schema.json"))
    assert "weighing" in schema["discriminator"]["mapping"]


def test_tables_can_be_opened_in_a_spreadsheet(full_file: io.BytesIO) -> None:
    with zipfile.ZipFile(full_file) as zipped:
        names = [name for name in zipped.namelist() if name.startswith("tables/")]
        assert len(names) == 11
        text = zipped.read("tables/wheel.csv").decode("utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(text)))
    wheel = next(row for row in rows if row["code"] == "24-07B")
    assert (wheel["state"], wheel["made_on"], wheel["covering"]) == ("cut", "2025-03-01", "wax")
    assert wheel["pieces_left"] == "0"


@pytest.mark.parametrize(
    ("value", "cell"),
    [
        # OWASP, "CSV Injection": cells that begin with = + - @, tab or carriage return; from memory.
        ("=1+1", "'=1+1"),
        ("+cmd|' /C calc'!A0", "'+cmd|' /C calc'!A0"),
        ("@SUM(A1)", "'@SUM(A1)"),
        ("-2+3", "'-2+3"),
        ("\tx", "'\tx"),
        ("\rx", "'\rx"),
        ("-2.5", "-2.5"),
        ("+4", "+4"),
        (-7.5, -7.5),
        (None, None),
        ("24-07B", "24-07B"),
        (["=1"], '["=1"]'),
        (day(0), "2025-03-01T08:00:00.000Z"),
    ],
)
def test_no_cell_is_a_formula(value: object, cell: object) -> None:
    assert safe_cell(value) == cell


def test_words_of_strangers_are_no_formula_in_the_table(book: Engine, tmp_path: Path) -> None:
    with book.begin() as db:
        put_all(db, [new(a_wheel("=HYPERLINK(1)")), new(Note(text="@x"), 1)], received_at=day(2))
    with zipfile.ZipFile(exported(book, tmp_path)) as zipped:
        for name in zipped.namelist():
            if name.endswith(".csv"):
                cells = [c for row in csv.reader(io.StringIO(zipped.read(name).decode("utf-8-sig"))) for c in row]
                assert not [c for c in cells if c[:1] in "=@\t\r" and c]
