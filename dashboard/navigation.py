"""Where one can go: each page says itself where it stands in the navigation."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from types import ModuleType
from typing import Literal

from sqlalchemy import Connection

from dashboard.people.person import Person, Role

MORE = "/more"


@dataclass(frozen=True, slots=True)
class Nav:
    """An entry of the navigation.

    Args:
        word: what stands there, from the table of words.
        icon: name of a drawing in templates/parts/icons.html.
        place: "bar" at the bottom of each page (at most five), "more" on the page behind its last entry.
        position: smaller stands first.
        count: what is waiting there; asked for each page that is shown, so it must be quick.
    """

    word: str
    path: str
    icon: str
    place: Literal["bar", "more"]
    position: int
    role: Role = "guest"
    count: Callable[[Connection], int] | None = None


@dataclass(frozen=True, slots=True)
class Link:
    """An entry as it is shown now."""

    word: str
    path: str
    icon: str
    count: int
    here: bool


def entries(modules: Sequence[ModuleType]) -> tuple[Nav, ...]:
    """What the page modules register, in order."""
    found = [module.NAV for module in modules if hasattr(module, "NAV")]
    return tuple(sorted(found, key=lambda nav: (nav.place, nav.position)))


def links(
    navs: Sequence[Nav], place: Literal["bar", "more"], person: Person, path: str, db: Connection
) -> tuple[Link, ...]:
    """The entries of a place that this person may use; "More" counts what waits behind it."""
    mine = [nav for nav in navs if person.may(nav.role)]
    counts = {nav.path: nav.count(db) if nav.count else 0 for nav in mine}
    if MORE in counts:
        counts[MORE] = sum(counts[nav.path] for nav in mine if nav.place == "more")
    here = {nav.path for nav in mine if _covers(nav.path, path)}
    if any(nav.path in here and nav.place == "more" for nav in mine):
        here.add(MORE)
    return tuple(
        Link(nav.word, nav.path, nav.icon, counts[nav.path], nav.path in here) for nav in mine if nav.place == place
    )


def _covers(own: str, path: str) -> bool:
    return path == own or path.startswith(own + "/")
