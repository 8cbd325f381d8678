"""What every page needs, put together once at the start and handed on."""

from collections import OrderedDict
from dataclasses import dataclass, field
from threading import Lock

from sqlalchemy import Engine

from collector.clock import Clock
from collector.readings.older import Older
from collector.settings import Settings
from dashboard.last_day import LastDays
from dashboard.people.passkey_questions import Questions
from dashboard.people.tries import Tries
from dashboard.settings import DashboardSettings
from dashboard.static_files import Assets
from dashboard.templating import Templates

MAX_NOTES = 200


@dataclass(frozen=True, slots=True)
class Note:
    """One line that the next page shows after something was done; `undo` is an own path to post to."""

    text: str
    undo: str = ""


class Notes:
    """The line that each session's next page shows; lost at a restart, which is no harm."""

    def __init__(self) -> None:
        self._waiting: OrderedDict[str, Note] = OrderedDict()
        self._lock = Lock()

    def leave(self, session_id: str, note: Note) -> None:
        with self._lock:
            self._waiting[session_id] = note
            while len(self._waiting) > MAX_NOTES:
                self._waiting.popitem(last=False)

    def take(self, session_id: str) -> Note | None:
        with self._lock:
            return self._waiting.pop(session_id, None)


@dataclass(slots=True)
class Doors:
    """The addresses of the pages as others in the house reach them; "" while a door is shut. The server sets them.

    `names`: of this machine in its certificate; whoever made that gave them, so they are its own.
    """

    http: str = ""
    https: str = ""
    names: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class House:
    """The dashboard's parts.

    Args:
        engine: the records; open short transactions only, never across a request.
        making, entering: what passkeys are asked, for whoever is signed in and for strangers: apart, so that many
            strangers push out nobody else's.
        older: answers for readings that are no longer kept here, if the settings name such a place.
    """

    settings: Settings
    own: DashboardSettings
    clock: Clock
    engine: Engine
    assets: Assets
    templates: Templates
    notes: Notes = field(default_factory=Notes)
    tries: Tries = field(default_factory=Tries)
    making: Questions = field(default_factory=Questions)
    entering: Questions = field(default_factory=Questions)
    doors: Doors = field(default_factory=Doors)
    last_days: LastDays = field(default_factory=LastDays)
    older: Older | None = None
