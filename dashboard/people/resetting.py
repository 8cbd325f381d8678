"""A new one-time link, asked for on the machine itself: whoever can do that owns the data anyway."""

from sqlalchemy import Engine, select

from collector.clock import Clock, SystemClock
from collector.errors import CaveError
from collector.prepare import prepare
from collector.records.engine import open_records, reading
from collector.records.tables import person
from collector.settings import Settings, read_settings
from dashboard.addresses import origin, reachable
from dashboard.household_kept import load
from dashboard.people import passkeys
from dashboard.people.changes import THIS_MACHINE
from dashboard.people.links import issue_link, whose
from dashboard.settings import DashboardSettings


class NoSuchPerson(CaveError):
    """A name that nobody here has."""

    hint = "Give a name as it stands in the settings, or none for the owner."

    def __init__(self, name: str) -> None:
        super().__init__(f"nobody here is called {name}")
        self.name = name


def reset_link(settings: Settings, name: str | None, clock: Clock | None = None) -> str:
    """The whole address of a new one-time link. Passkeys end at once: whoever asks for this may have lost the phone.

    Raises:
        NoSuchPerson: nobody has that name.
    """
    prepare(settings)
    engine = open_records(settings.records_at)
    try:
        clock = clock or SystemClock()
        path = issue_link(engine, clock, _id_of(engine, name) if name else None)
        with engine.begin() as db:
            found = whose(db, path.rpartition("/")[2], clock.now())
            if found is not None:
                passkeys.remove_all(db, found.id, THIS_MACHINE, clock.now())
        return pages_address(settings, engine) + path
    finally:
        engine.dispose()


def _id_of(engine: Engine, name: str) -> str:
    with reading(engine) as db:
        found = db.execute(select(person.c.id).where(person.c.name == name)).scalar()
    if found is None:
        raise NoSuchPerson(name)
    return str(found)


def pages_address(settings: Settings, engine: Engine) -> str:
    """The address of the pages as far as the settings tell."""
    own = read_settings(DashboardSettings)
    with reading(engine) as db:
        chosen = load(db).base_address or own.base_address
    return chosen or origin("http", reachable(settings.listen, settings.own_address), own.http_port)
