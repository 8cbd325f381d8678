"""Styles, gear and chores of the invented dairy. Everything here is invented."""

from datetime import date, datetime, timedelta

from collector.demo.quillfold_rooms import CELLAR, COLD_FRIDGE, WASHED_FRIDGE
from dashboard.demo_book.diary import Diary, day_at
from dashboard.wheels.bodies.doings import Chore, GearCheck
from dashboard.wheels.bodies.sheets import GearSheet
from dashboard.wheels.kinds.styles import STYLES

# Which row of the styles each of the simulated kinds of wheel is.
STYLE_ROWS = {
    "natural-rind tomme": "tomme",
    "cloth-bound cheddar": "clothbound",
    "alpine": "alpine",
    "washed rind": "washed",
    "blue": "blue",
    "bloomy": "bloomy",
    "bagged": "waxed",
}
GEAR: dict[str, GearSheet] = {
    "kitchen scale": GearSheet(gear="scale", name="kitchen scale", step_g=1),
    "hanging scale": GearSheet(gear="scale", name="hanging scale", step_g=5),
    "spruce board": GearSheet(gear="board", name="spruce board", tare_g=642),
    "larch board": GearSheet(gear="board", name="larch board", tare_g=918),
    "brine tub": GearSheet(gear="brine", name="brine tub", holds="18 litres"),
    "wash jar": GearSheet(gear="wash", name="wash jar", holds="half a litre of light brine"),
    "soft brush": GearSheet(gear="brush", name="soft brush"),
}
SETTLED_D = 400  # the dairy has been there longer than its history
FILLED_EVERY_D, TRAY_EVERY_D, SCALDED_EVERY_D, BRINE_EVERY_D = 2, 7, 30, 21
CLEANED_EVERY_D = 14


class Things:
    """Styles and gear as the book knows them: id by name."""

    def __init__(self, diary: Diary) -> None:
        self._began_at = diary.until_at - timedelta(days=SETTLED_D)
        self._began_at = day_at(self._began_at.date(), 7)
        self.styles = {name: self._style(diary, row) for name, row in STYLE_ROWS.items()}
        self.gear = {name: self._gear(diary, name, sheet) for name, sheet in GEAR.items()}

    def _style(self, diary: Diary, row: str) -> str:
        own_id = diary.photo_id(self._began_at, f"style {row}")
        diary.add(self._began_at, row, STYLES[row].model_copy(update={"preset": row}), style_id=own_id)
        return own_id

    def _gear(self, diary: Diary, name: str, sheet: GearSheet) -> str:
        own_id = diary.photo_id(self._began_at, f"gear {name}")
        diary.add(self._began_at, name, sheet, gear_id=own_id)
        return own_id


def chores(diary: Diary, places: dict[str, str], things: Things, dry_days: dict[str, set[date]]) -> None:
    """The year's chores: humidifiers filled (not on the days on which they stood dry), trays, boards, brine."""
    first = (diary.until_at - timedelta(days=365)).date()
    for number in range(366):
        day = first + timedelta(days=number)
        for place in (CELLAR, WASHED_FRIDGE):
            if number % FILLED_EVERY_D == 0 and day not in dry_days.get(place, set()):
                litres = 2.6 if place == CELLAR else 0.5
                _chore(diary, day_at(day, 6.67), places[place], "humidifier_filled", litres)
        if number % TRAY_EVERY_D == 3:
            _chore(diary, day_at(day, 7.2), places[COLD_FRIDGE], "tray_emptied", 0.3)
        if number % CLEANED_EVERY_D == 5:
            _chore(diary, day_at(day, 6.8), places[CELLAR], "humidifier_cleaned")
        if number % SCALDED_EVERY_D == 11:
            _chore(diary, day_at(day, 9.5), places[CELLAR], "boards_scalded")
        if number % BRINE_EVERY_D == 4:
            _brine(diary, day_at(day, 10), number, things.gear["brine tub"])


def _chore(diary: Diary, at: datetime, place_id: str, chore: str, litres: float | None = None) -> None:
    diary.add(at, place_id + chore, Chore(chore=chore, amount_l=litres), place_id=place_id)


def _brine(diary: Diary, at: datetime, number: int, gear_id: str) -> None:
    drawn = diary.chance("brine", number)
    strength, ph = round(20.5 + float(drawn.normal(0, 0.8)), 1), round(5.2 + float(drawn.normal(0, 0.05)), 2)
    boiled = number % (4 * BRINE_EVERY_D) == 4
    body = GearCheck(strength_pct=strength, ph=ph, boiled=boiled, salt_added_g=400 if strength < 20 else None)
    diary.add(at, "brine", body, gear_id=gear_id)
