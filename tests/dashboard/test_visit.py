"""How pages answer: fragments with tags, notes that are shown once, readings that are not there yet."""

from collections.abc import Callable

from fastapi import Request
from fastapi.testclient import TestClient

from collector.prepare import prepare
from collector.settings import Settings
from dashboard.app import Dashboard
from dashboard.house import MAX_NOTES, Note, Notes
from dashboard.pages.more import MorePage
from dashboard.people.person import Person, Who
from dashboard.visit import Guest, Visit


def test_an_unchanged_fragment_is_not_even_built(app: Dashboard, guest: TestClient) -> None:
    built: list[int] = []
    tag = [1]

    @app.get("/part")
    def part(visit: Guest) -> object:
        return visit.fragment(tag, lambda: built.append(1) or MorePage())  # type: ignore[func-returns-value]

    first = guest.get("/part")
    again = guest.get("/part", headers={"If-None-Match": first.headers["etag"]})
    assert (first.status_code, again.status_code, len(built)) == (200, 304, 1)
    assert again.headers["x-as-of"] == "14:10"
    tag[0] = 2
    changed = guest.get("/part", headers={"If-None-Match": first.headers["etag"]})
    assert (changed.status_code, len(built)) == (200, 2)


def test_who_looks_belongs_to_the_tag(app: Dashboard, visitor: Callable[..., TestClient]) -> None:
    @app.get("/part")
    def part(visit: Guest) -> object:
        return visit.fragment([1], MorePage)

    assert len({visitor(role).get("/part").headers["etag"] for role in ("guest", "helper", "owner")}) == 3


def test_readings_that_are_not_there_yet_are_none(app: Dashboard, settings: Settings) -> None:
    request = Request({"type": "http", "app": app, "method": "GET", "path": "/", "headers": []})
    visit = Visit(request, Who(Person("1", "Keeper", "owner"), ""))
    assert visit.readings is None
    prepare(settings)
    assert visit.readings is not None
    assert visit.readings.newest_change() == 0
    visit.close()


def test_a_note_is_shown_once_to_its_own_session() -> None:
    notes = Notes()
    notes.leave("one", Note("Saved."))
    assert notes.take("two") is None
    assert notes.take("one") == Note("Saved.")
    assert notes.take("one") is None


def test_a_page_that_is_fetched_to_be_kept_leaves_the_note_for_the_person(app: Dashboard, guest: TestClient) -> None:
    @app.get("/said")
    def said(visit: Guest) -> object:
        return visit.go("/more", "Saved.")

    guest.get("/said")
    assert "Saved." not in guest.get("/more", headers={"Sec-Fetch-Mode": "cors"}).text
    assert "Saved." in guest.get("/more", headers={"Sec-Fetch-Mode": "navigate"}).text


def test_notes_that_nobody_fetches_do_not_pile_up() -> None:
    notes = Notes()
    for number in range(MAX_NOTES + 10):
        notes.leave(str(number), Note("Saved."))
    assert notes.take("0") is None
    assert notes.take(str(MAX_NOTES)) is not None
