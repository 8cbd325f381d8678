"""What stands on a wheel's line of the round, in words; pure."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime

from dashboard import words
from dashboard.household import Household
from dashboard.rounds.model import DueMark
from dashboard.wheels.book import Style, Wheel
from dashboard.wheels.care_plan import Due
from dashboard.wheels.kinds.care import planned_word
from dashboard.wheels.kinds.coverings import BARE, COVERINGS
from dashboard.wheels.kinds.rind import RIND_KINDS

MONTH_D = 30.44  # a year's twelfth
IN_DAYS_UNTIL_D = 100
OwnWords = Mapping[tuple[str, str], str]


def age_words(age_d: int | None) -> str:
    """An age as one says it of a cheese: "34 days", "5 months"; "" when it is not known."""
    if age_d is None:
        return ""
    if age_d < IN_DAYS_UNTIL_D:
        return f"{age_d} day" if age_d == 1 else f"{age_d} days"
    return f"{int(age_d / MONTH_D)} months"


def style_word(style: Style | None) -> str:
    """A style's name where room is scarce: "tomme, natural rind" is called a tomme."""
    return (style.sheet.name or style.sheet.rind).split(",")[0].strip() if style else ""


def about(wheel: Wheel, style: Style | None, today: date, household: Household) -> str:
    """A wheel in one line: style, age, covering, pieces, last weight."""
    covering = COVERINGS.get(wheel.covering)
    covered = "" if wheel.covering == BARE else covering.word if covering else wheel.covering.replace("_", " ")
    weight = words.weight(wheel.net_g, household) if wheel.net_g else ""
    pieces = ""
    if wheel.sheet.pieces > 1:
        pieces = f"{wheel.pieces_left} pieces"
        weight = f"{weight} each" if weight else ""
    said = (style_word(style), age_words(wheel.age_d(today)), covered, pieces, weight)
    return ", ".join(part for part in said if part)


def care_word(name: str, own: OwnWords) -> str:
    """The word of a care or of what else a plan asks for; the household's own words come first."""
    return own.get(("care", name)) or planned_word(name)


def rind_word(name: str, own: OwnWords) -> str:
    """The word of a kind of rind note."""
    row = RIND_KINDS.get(name)
    return row.word if row else own.get(("rind_note", name), name.replace("_", " "))


def due_marks(due: Sequence[Due], today: date, own: OwnWords) -> tuple[DueMark, ...]:
    """What is due today or late; what is still to come says nothing."""
    return tuple(
        DueMark(one.care, care_word(one.care, own), _late(one, today), one.overdue) for one in due if one.on <= today
    )


def _late(due: Due, today: date) -> str:
    days = (today - due.on).days
    if days <= 0:
        return "today"
    return f"{days} {'day' if days == 1 else 'days'} late"


def done_today(last_at: Mapping[str, datetime], now_at: datetime, household: Household, own: OwnWords) -> list[str]:
    """What was done to a wheel today, each with its time: "turned 08:10"."""
    midnight_at = words.local(now_at, household).replace(hour=0, minute=0, second=0, microsecond=0)
    found = sorted(
        (at, name)
        for name, at in last_at.items()
        if at >= midnight_at and name not in {"begun", "clean"} and ":" not in name
    )
    if not found:
        return []
    clean = {at for name, at in last_at.items() if name == "clean"}
    return [
        _done(name, at, at in clean, household, own) for at, name in found if not _said_with(name, at, clean, found)
    ]


def _said_with(name: str, at: datetime, clean: set[datetime], found: list[tuple[datetime, str]]) -> bool:
    """A look that was part of a care is said with the care."""
    return name == "looked" and at in clean and any(other == at and care != "looked" for other, care in found)


def _done(name: str, at: datetime, clean: bool, household: Household, own: OwnWords) -> str:
    new = ", nothing new" if clean else ""
    return f"{care_word(name, own)}{new} {words.clock_time(at, household)}"
