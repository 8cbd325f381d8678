"""Old logs: handed over, guessed, confirmed, and written into the collector's folder with their form."""

import re
from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine

from collector.importing.csv_file import form_path, read_form
from collector.records.engine import reading
from collector.records.life import sign
from collector.records.places import load_facts
from collector.settings import Settings
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.dairy import a_place, keep

LOG = b"Zeit;Temp (\xb0C);Feuchte rh\n13.02.2025 08:00;11,5;88,2\n13.02.2025 08:10;ERROR;88,0\n"


def handed_over(owner: TestClient, log: bytes = LOG, name: str = "../../K\xe4se <log>.csv") -> str:
    answer = owner.post("/probes/import", files={"log": (name, log)})
    assert answer.status_code == 303
    return answer.headers["location"]


def choices(page: str) -> dict[str, str]:
    """What the form would send as it stands."""
    texts = dict(re.findall(r'<input[^>]* name="(\w+)"[^>]*? value="([^"]*)"', page))
    for name, body in re.findall(r'<select id="\w+" name="(\w+)".*?>(.*?)</select>', page, re.DOTALL):
        found = re.search(r'value="([^"]*)" selected', body)
        texts[name] = found[1] if found else ""
    return {**texts, "clock": "summer", "name": "old-cellar"}


@pytest.fixture
def prepared(settings: Settings, engine: Engine) -> None:
    keep(settings, [])


def test_a_file_is_kept_under_a_safe_name_in_the_folder(owner: TestClient, settings: Settings, prepared: None) -> None:
    where = handed_over(owner)
    kept = list(settings.import_folder.iterdir())
    assert [path.name for path in kept] == [where.rpartition("/")[2]]
    assert re.fullmatch(r"[A-Za-z0-9.-]+\.csv", kept[0].name)
    assert kept[0].read_bytes() == LOG
    assert where in owner.get("/probes/import").text


def test_what_is_guessed_is_shown_with_its_first_rows(owner: TestClient, settings: Settings, prepared: None) -> None:
    page = owner.get(handed_over(owner)).text
    assert "13 February 2025 08:00" in page
    assert "temperature 11.5 °C" in page
    assert 'value="temperature|Cel" selected' in page


def test_once_confirmed_its_form_lies_beside_it(
    owner: TestClient, engine: Engine, settings: Settings, prepared: None
) -> None:
    with engine.begin() as db:
        place = a_place(db)
    where = handed_over(owner)
    texts = {**choices(owner.get(where).text), "do": "take", "place": place}
    assert owner.post(where, data=texts).status_code == 303
    path = settings.import_folder / where.rpartition("/")[2]
    form = read_form(path)
    assert (form.encoding, form.delimiter, form.decimal, form.skip, form.order) == ("cp1252", ";", ",", 1, "dmy")
    assert (form.probe, form.topic) == ("old-cellar", "rindwatch/old-cellar/readings")
    with reading(engine) as db:
        placed = load_facts(db).placement_at("old-cellar", "temperature", NOW_AT)
    assert placed is not None
    assert placed.place_id == place
    assert f"{placed.valid_from_at:%Y-%m-%d %H:%M}" == "2025-02-13 08:00"
    assert owner.get(where).status_code == 404


@pytest.mark.parametrize(("change", "said"), [
    ({"name": ""}, "name"),
    ({"time": "none"}, "in which column the time stands"),
    ({"c1": "", "c2": ""}, "of one column at least"),
    ({"order": "mdy"}, "None of the first rows can be taken in"),
    ({"faults": "often"}, "with a comma between them"),
])  # fmt: skip
def test_what_cannot_be_taken_comes_back_with_its_texts(
    owner: TestClient, settings: Settings, prepared: None, change: dict[str, str], said: str
) -> None:
    where = handed_over(owner)
    answer = owner.post(where, data={**choices(owner.get(where).text), "do": "take", **change})
    assert answer.status_code == 422
    assert said in answer.text
    assert not form_path(settings.import_folder / where.rpartition("/")[2]).exists()


@pytest.mark.parametrize("log", [b"\0\xff" * 50, b"x", b'"' * 500, b"a;b\nc;d\n"])
def test_a_file_that_is_no_log_can_be_looked_at_and_thrown_away(
    owner: TestClient, settings: Settings, prepared: None, log: bytes
) -> None:
    where = handed_over(owner, log)
    assert "Nothing can be read of it yet" in owner.get(where).text
    owner.post(f"{where}/drop")
    assert list(settings.import_folder.iterdir()) == []


def test_an_empty_file_is_refused(owner: TestClient, prepared: None) -> None:
    assert owner.post("/probes/import", files={"log": ("a.csv", b"")}).status_code == 422


@pytest.mark.parametrize("name", ["none.csv", "..%2Frecords.csv", ".csv"])
def test_a_file_that_is_not_there_is_not_found(
    owner: TestClient, settings: Settings, prepared: None, name: str
) -> None:
    Path(settings.data / "records.csv").write_text("a")
    assert owner.get(f"/probes/import/{name}").status_code == 404


def test_only_the_owner_may(helper: TestClient, prepared: None) -> None:
    assert helper.get("/probes/import").status_code == 403


def test_a_file_goes_by_the_persons_own_name_for_it(owner: TestClient, prepared: None) -> None:
    where = handed_over(owner, name="Rear shelf 2024.csv")
    page = owner.get(where).text
    assert ">Rear-shelf-2024.csv<" in page
    # What the probe will be called, unless somebody says better.
    assert re.search(r'name="name"[^>]*value="Rear-shelf-2024"', page)
    assert re.search(r">\s*Rear-shelf-2024.csv\s*<", owner.get("/probes/import").text)


def test_no_two_meanings_in_the_list_read_alike(owner: TestClient, prepared: None) -> None:
    page = owner.get(handed_over(owner)).text
    [body] = re.findall(r'name="c1".*?>(.*?)</select>', page, re.DOTALL)
    words = re.findall(r">([^<]+)</option>", body)
    assert len(words) > 10
    assert len(words) == len(set(words))


def test_readings_that_were_set_aside_are_told(owner: TestClient, engine: Engine, prepared: None) -> None:
    facts = {
        "file": "old.csv",
        "read_bytes": 9,
        "file_bytes": 9,
        "left_bytes": 0,
        "rows": 20,
        "refused": 0,
        "aside": 1_030,
    }
    sign(engine, "import", NOW_AT, facts)
    page = owner.get("/probes/import").text
    assert "20 readings." in page
    assert "1,030 readings were set aside" in page
