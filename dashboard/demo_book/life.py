"""The life of one invented wheel, day by day: where it went, what was done to it, seen on it, weighed and tasted."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any

import numpy as np

from collector.demo.wheels import Wheel
from collector.records.columns import to_ms
from dashboard.demo_book.diary import Diary, day_at
from dashboard.demo_book.endings import CUT_AGE_D, SNACKS, cut_of, ending_of
from dashboard.demo_book.scales import OnScale, weighed
from dashboard.demo_book.tasting import AGES_D, tasting
from dashboard.demo_book.things import STYLE_ROWS, Things
from dashboard.demo_book.troubles import COVERED_AS, Trouble
from dashboard.demo_book.vats import Vat, at_of
from dashboard.wheels.bodies.doings import Care, Covered, Ended, Looked, Moved, RindNote, TookOut
from dashboard.wheels.bodies.sheets import WheelSheet
from dashboard.wheels.care_plan import due
from dashboard.wheels.kinds.care import CARE_KINDS
from dashboard.wheels.kinds.coverings import COVERINGS
from dashboard.wheels.kinds.styles import STYLES

Mass = Callable[[str, "np.typing.NDArray[np.int64]"], "np.typing.NDArray[np.float64]"]
WITH_LOOK = 0.35  # of the turnings; "turned, nothing new" is one touch
FORGOTTEN = 0.04  # of what is due on a round that was made
PLUG_G = 14.0
GEAR_OF = {"washed": "wash jar", "rubbed": "wash jar", "brushed": "soft brush", "wiped": "wash jar"}
SHELVES = ("top board", "middle board", "lower board")


@dataclass(slots=True)
class Life:
    """One wheel while its life is being written.

    Args:
        place_ids: by name. no_round: days on which nobody went down. mass: true mass [g] by code and time [ms].
        spot: its place in the row of wheels.
        pictures: what photos are to be drawn: photo id, what shows on the rind.
    """

    diary: Diary
    things: Things
    place_ids: Mapping[str, str]
    no_round: set[date]
    mass: Mass
    vat: Vat
    wheel: Wheel
    troubles: Sequence[Trouble]
    spot: int
    pictures: list[tuple[str, str]]
    id: str = ""
    last_on: dict[str, date] = field(default_factory=dict)
    kept_share: float = 1.0
    pieces_left: int = 1
    washed_on: date | None = None

    def write(self) -> None:
        """Enter all of it."""
        self.id = self.diary.photo_id(at_of(self.wheel.made_ms), f"wheel {self.wheel.code}")
        self.pieces_left = self.wheel.pieces
        self._begin()
        made_on = at_of(self.wheel.made_ms).date()
        self.last_on["begun"] = made_on
        day = made_on + timedelta(days=1)
        last = min(self._gone_at() or self.diary.until_at, self.diary.until_at).date()
        while day <= last:
            self._day(day, (day - made_on).days)
            day += timedelta(days=1)
        if (gone_at := self._gone_at()) is not None and gone_at < self.diary.until_at:
            self._end(gone_at)

    def _gone_at(self) -> datetime | None:
        return None if self.wheel.gone_ms is None else at_of(self.wheel.gone_ms)

    def _begin(self) -> None:
        at, wheel = at_of(self.wheel.made_ms), self.wheel
        sheet: dict[str, Any] = {
            "code": wheel.code,
            "make_id": self.vat.id,
            "style_id": self.things.styles[wheel.style.name],
            "made_on": at.date(),
            "pieces": wheel.pieces,
            "diameter_mm": round(wheel.diameter_m * 1_000),
            "height_mm": round(wheel.height_m * 1_000),
        }
        self._add(at, "wheel", WheelSheet(**sheet), make_id=self.vat.id)
        self._weigh(at + timedelta(minutes=30), "press")
        self._go_about()

    def _go_about(self) -> None:
        """Where it went and what covered it, all its life."""
        wheel = self.wheel
        for number, stay in enumerate(wheel.stays):
            moved = Moved(spot=SHELVES[self.spot % 3], position=self.spot) if number else Moved(position=self.spot)
            moved_at = at_of(stay.from_ms) + timedelta(minutes=self.spot % 20)
            self._add(moved_at, f"moved {number}", moved, place_id=self.place_ids[stay.place])
            if number == 1:
                self._weigh(moved_at + timedelta(minutes=2), "cave")
        for number, covered in enumerate(wheel.coverings):
            if number:
                covered_at = at_of(covered.from_ms) + timedelta(minutes=self.spot % 20 + 1)
                self._add(covered_at, f"covered {number}", Covered(covering=COVERED_AS[covered.covering]))

    def _add(self, at: datetime, about: str, body: Any, **refs: Any) -> str:
        """Enter something about this wheel, unless it was gone by then."""
        gone_at = self._gone_at()
        if gone_at is not None and at > gone_at:
            return ""
        return self.diary.add(at, f"{self.wheel.code} {about}", body, wheel_id=self.id, **refs)

    def _day(self, day: date, age_d: int) -> None:
        at = day_at(day, 8) + timedelta(minutes=self.spot)
        gone_at = self._gone_at()
        if day in self.no_round or (gone_at is not None and at >= gone_at):
            return
        drawn = self.diary.chance(f"day/{self.wheel.code}", day.toordinal())
        self._see(at, day)
        self._care(at, day, drawn)
        if age_d in AGES_D[self.wheel.style.name]:
            self._taste(at + timedelta(hours=10), drawn)
        if CUT_AGE_D.get((self.vat.number, self.wheel.code[-1])) == age_d:
            self._cut(at + timedelta(hours=9))
        for snack in SNACKS.get(self.vat.number, ()):
            if snack.age_d == age_d:
                self._add(at + timedelta(hours=11), "snack", snack.ended)
                self.pieces_left -= snack.ended.pieces or 0

    def _see(self, at: datetime, day: date) -> None:
        """Rind notes are made on the first round after the day on which they could be seen."""
        for number, trouble in enumerate(self.troubles):
            about = f"trouble {number}"
            if trouble.day <= day and about not in self.last_on:
                self.last_on[about] = day
                photos = (self._picture(at, about, str(trouble.note["note"])),)
                self._add(at, about, RindNote(**{**trouble.note, "first_seen_on": day, "photos": photos}))
            elif trouble.gone is not None and trouble.gone <= day and about + " gone" not in self.last_on:
                self.last_on[about + " gone"] = day
                self._add(at, about + " gone", RindNote(note=trouble.note["note"], gone=True))

    def _picture(self, at: datetime, about: str, shows: str) -> str:
        photo_id = self.diary.photo_id(at, f"{self.wheel.code} {about}")
        if at < self.diary.until_at:
            self.pictures.append((photo_id, shows))
        return photo_id

    def _ill(self, day: date) -> bool:
        return any(t.day <= day and (t.gone is None or t.gone > day) for t in self.troubles)

    def _care(self, at: datetime, day: date, drawn: Any) -> None:
        covering = COVERED_AS[self.wheel.covering_at(to_ms(at))]
        plan = STYLES[STYLE_ROWS[self.wheel.style.name]].plan
        made_on = at_of(self.wheel.made_ms).date()
        done = 0
        for one in due(plan, made_on, self.last_on, day, covering):
            if one.on > day or drawn.random() < FORGOTTEN:
                continue
            self.last_on[one.care] = day
            if one.care == "weighed":
                self._weigh(at + timedelta(minutes=5), None, drawn)
            elif one.care in CARE_KINDS:
                seen = one.care == "turned" and not COVERINGS[covering].hides and drawn.random() < WITH_LOOK
                fields: dict[str, Any] = {"nothing_new": True} if seen and not self._ill(day) else {}
                gear = self.things.gear.get(GEAR_OF.get(one.care, ""))
                self._add(at + timedelta(seconds=20 * done), one.care, Care(care=one.care, **fields), gear_id=gear)
                self.washed_on = day if CARE_KINDS[one.care].wets else self.washed_on
                done += 1
        if not done and day.weekday() == 6 and not COVERINGS[covering].hides and not self._ill(day):
            self._add(at, "looked", Looked())

    def _true_g(self, at: datetime) -> float:
        mass = float(self.mass(self.wheel.code, np.array([to_ms(at)], dtype=np.int64))[0])
        return mass / self.wheel.pieces * self.kept_share

    def _weigh(self, at: datetime, start: str | None, drawn: Any = None) -> None:
        if at >= self.diary.until_at or not self.wheel.is_there(to_ms(at)):
            return
        drawn = drawn if drawn is not None else self.diary.chance(f"start/{self.wheel.code}/{start}")
        wet = self.washed_on == at.date()
        on_board = self.wheel.pieces == 1 and start is None and drawn.random() < 0.3
        what = OnScale(self._true_g(at), self.pieces_left, wet, start, on_board)
        self._add(at, f"weighing {start}", weighed(drawn, self.things, what))

    def _taste(self, at: datetime, drawn: Any) -> None:
        if at >= self.diary.until_at or not self.wheel.is_there(to_ms(at)):
            return
        if self.wheel.pieces == 1:
            true_g = self._true_g(at)
            self._add(at, "plug", TookOut(what="plug", taken_g=PLUG_G))
            self.kept_share *= 1 - PLUG_G / true_g
        self._add(at + timedelta(minutes=5), "tasting", tasting(drawn, ill=self._ill(at.date())))

    def _cut(self, at: datetime) -> None:
        """It goes on as one part, half of it; the other half was eaten."""
        if at >= self.diary.until_at:
            return
        part_id = self.diary.photo_id(at, f"part of {self.wheel.code}")
        half_g = round(self._true_g(at) / 2)
        self._add(at, "cut", cut_of(part_id, f"{self.wheel.code}/1", half_g))
        self.id, self.kept_share = part_id, self.kept_share / 2

    def _end(self, at: datetime) -> None:
        drawn = self.diary.chance(f"end/{self.wheel.code}")
        self._weigh(at - timedelta(minutes=9), None, drawn)
        ended = ending_of(self.vat.number, self.wheel.code[-1], drawn)
        if ended.how == "eaten":
            self._add(at - timedelta(minutes=4), "tasting", tasting(drawn, ill=self._ill(at.date())))
        self._add(at, "ended", Ended(**ended.model_dump(exclude_unset=True)))
