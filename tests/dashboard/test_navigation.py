"""The navigation shows what exists, to whom it may be shown, and counts what waits."""

from types import ModuleType

from sqlalchemy import Engine

from dashboard.navigation import Nav, entries, links
from dashboard.people.person import Person


def page(nav: Nav | None) -> ModuleType:
    module = ModuleType("page")
    if nav:
        module.NAV = nav  # type: ignore[attr-defined]
    return module


NAVS = entries(
    [
        page(Nav("More", "/more", "more", "bar", 90)),
        page(None),
        page(Nav("Caves", "/caves", "caves", "bar", 10)),
        page(Nav("Warnings", "/warnings", "warnings", "more", 10, count=lambda _db: 3)),
        page(Nav("Secrets", "/secrets", "lock", "more", 20, role="owner", count=lambda _db: 4)),
    ]
)


def test_entries_stand_in_their_order(engine: Engine) -> None:
    with engine.begin() as db:
        bar = links(NAVS, "bar", Person("1", "G", "guest"), "/caves/7", db)
    assert [(link.word, link.here) for link in bar] == [("Caves", True), ("More", False)]


def test_more_counts_what_waits_behind_it_for_this_person(engine: Engine) -> None:
    with engine.begin() as db:
        for_guest = links(NAVS, "bar", Person("1", "G", "guest"), "/warnings", db)
        for_owner = links(NAVS, "bar", Person("2", "O", "owner"), "/warnings", db)
        behind = links(NAVS, "more", Person("1", "G", "guest"), "/warnings", db)
    assert [link.count for link in for_guest] == [0, 3]
    assert [link.count for link in for_owner] == [0, 7]
    assert [(link.word, link.here) for link in behind] == [("Warnings", True)]
    assert for_guest[1].here


def test_a_path_that_only_begins_alike_is_another_page(engine: Engine) -> None:
    with engine.begin() as db:
        assert not links(NAVS, "bar", Person("1", "G", "guest"), "/cavesother", db)[0].here
