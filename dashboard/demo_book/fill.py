"""Writes the invented dairy's year into the wheel book: newest first, each piece once however often it is begun."""

import logging
from collections.abc import Iterator, Sequence
from contextlib import suppress
from datetime import date, datetime, timedelta

from sqlalchemy import Connection, Engine, insert, select

from collector.demo.by_hand import HandReading
from collector.demo.diary import DAY_MS, DIARY, SEED
from collector.demo.diary import Diary as DemoDiary
from collector.demo.incidents import IncidentKind
from collector.demo.quillfold import QUILLFOLD
from collector.demo.scenario import World, incidents_of, wheels_in
from collector.demo.simulation import Simulation
from collector.records.columns import from_ms
from collector.records.engine import open_records, reading
from collector.records.places import load_facts, places
from collector.records.tables import setting
from collector.settings import Settings
from dashboard.api.entries import photos_folder
from dashboard.demo_book.diary import KEEPER, Diary, dated_id
from dashboard.demo_book.life import Life
from dashboard.demo_book.pictures import picture
from dashboard.demo_book.things import Things, chores
from dashboard.demo_book.troubles import troubles_of
from dashboard.demo_book.vats import Vat, vats_of, write_sheet
from dashboard.typed_readings import Keeper, Typed, keep
from dashboard.wheels.entries import put_all
from dashboard.wheels.photo_errors import PhotoRefused
from dashboard.wheels.photos import put_photo

log = logging.getLogger(__name__)

DONE = "demo_book.done"
WINDOW_D = 32  # the simulation is quickest with a month at once
LONG_AGO_D = 400
NO_ROUND = 0.05  # of the days nobody went down
AWAY_DAYS_BACK = ((10, 2), (101, 3), (190, 4))  # the keeper was at a market, on a long weekend, ill
MOST_PICTURES = 8  # each is read in a child process of its own


class Filling:
    """One run: the world, the book, and what has been prepared of both."""

    def __init__(self, settings: Settings, engine: Engine) -> None:
        self.settings, self.engine = settings, engine
        demo = DemoDiary.open(settings.data / DIARY, SEED, 0)
        self.world = World(QUILLFOLD, demo.seed, demo.anchor_ms)
        self.simulation = Simulation(self.world)
        self.until_at = from_ms(demo.anchor_ms)
        self.pictures: list[tuple[str, str]] = []
        with reading(engine) as db:
            self.place_ids = {place.name: place.id for place in places(db)}

    def diary(self) -> Diary:
        return Diary(self.world.seed, self.until_at)

    def run(self, back_d: int) -> None:
        """Styles and gear, then month by month back: the air of it, what was typed, and the makes of that month."""
        first = self.diary()
        things = Things(first)
        chores(first, self.place_ids, things, self._dry_days())
        self._keep(first)
        vats = vats_of(wheels_in(self.world), first)
        no_round = _days_without_round(first)
        for from_day, to_day in _months_back(self.world.anchor_ms // DAY_MS, back_d):
            span = from_day * DAY_MS, min(to_day * DAY_MS, self.world.anchor_ms)
            self.simulation.true_air(QUILLFOLD.outside, *span)
            self._keep_typed(list(self.simulation.hand_readings(*span)))
            for vat in (v for v in vats if span[0] <= v.made_ms < span[1]):
                self._keep(self._make(vat, things, no_round))
        self._keep_pictures(first)

    def _make(self, vat: Vat, things: Things, no_round: set[date]) -> Diary:
        """One make and the lives of its wheels."""
        diary = self.diary()
        write_sheet(diary, vat, things)
        incidents = incidents_of(self.world)
        for number, wheel in enumerate(vat.wheels):
            Life(
                diary, things, self.place_ids, no_round, self.simulation.wheel_mass_g, vat, wheel,
                troubles_of(diary, vat, wheel, incidents), vat.number * 2 + number, self.pictures,
            ).write()  # fmt: skip
        return diary

    def _dry_days(self) -> dict[str, set[date]]:
        """On which days a humidifier stood dry, because nobody filled it."""
        found: dict[str, set[date]] = {}
        for incident in incidents_of(self.world):
            if incident.kind is IncidentKind.HUMIDIFIER_DRY:
                days = range(incident.from_ms // DAY_MS - 1, incident.to_ms // DAY_MS)
                found.setdefault(incident.place, set()).update(from_ms(day * DAY_MS).date() for day in days)
        return found

    def _keep(self, diary: Diary) -> None:
        with self.engine.begin() as db:
            put_all(db, diary.entries, received_at=self.until_at, who=KEEPER)

    def _keep_typed(self, readings: Sequence[HandReading]) -> None:
        with self.engine.begin() as db:
            facts = load_facts(db)
            for one in readings:
                at = from_ms(one.at_ms)
                place = facts.places[self.place_ids[one.place]]
                own_id = dated_id(at, self.world.seed, "dial", one.place)
                typed = Typed(own_id, place.id, one.instrument, one.temperature_c, one.humidity_pct, at)
                keep(db, typed, place, Keeper("", KEEPER, at))

    def _keep_pictures(self, diary: Diary) -> None:
        folder = photos_folder(self.settings)
        for photo_id, shows in sorted(self.pictures, reverse=True)[:MOST_PICTURES]:
            with suppress(PhotoRefused):
                data = picture(diary, photo_id, shows)
                put_photo(self.engine, folder, photo_id, data, received_at=self.until_at, who=KEEPER)


def fill(settings: Settings, back_d: int = LONG_AGO_D) -> bool:
    """Write the book of so many days; False when an earlier start has written all of it."""
    engine = open_records(settings.records_at)
    try:
        with reading(engine) as db:
            if _is_done(db):
                return False
        Filling(settings, engine).run(back_d)
        with engine.begin() as db:
            db.execute(insert(setting).values(key=DONE, value=True))
    finally:
        engine.dispose()
    log.info("demo_book_written")
    return True


def _is_done(db: Connection) -> bool:
    return db.execute(select(setting.c.key).where(setting.c.key == DONE)).first() is not None


def _months_back(anchor_day: int, back_d: int) -> Iterator[tuple[int, int]]:
    """Stretches of days (first, after the last), the newest first, so many days back."""
    for end in range(anchor_day + 1, anchor_day - back_d, -WINDOW_D):
        yield max(end - WINDOW_D, anchor_day - back_d), end


def _days_without_round(diary: Diary) -> set[date]:
    today: datetime = diary.until_at
    drawn = diary.chance("no round").random(LONG_AGO_D)
    days = {(today - timedelta(days=back)).date() for back in range(LONG_AGO_D) if drawn[back] < NO_ROUND}
    for back, length in AWAY_DAYS_BACK:
        days |= {(today - timedelta(days=back - number)).date() for number in range(length)}
    return days
