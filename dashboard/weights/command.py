"""What `rindwatch weight` prints."""

from datetime import date

from collector.clock import SystemClock
from collector.errors import CaveError
from collector.readings.reader import Readings
from collector.records.engine import open_prepared, reading
from collector.settings import Settings
from dashboard.household_kept import load
from dashboard.weights.around import look_around
from dashboard.weights.keeping import keep_all, try_all
from dashboard.weights.kept import TRIED, past, score_of
from dashboard.weights.told import Told, Wish, told
from dashboard.wheels.book import find, styles, wheels
from dashboard.wheels.kinds.coverings import COVERINGS
from dashboard.wheels.tables import wheel as wheel_table
from dashboard.wheels.weight.score import Score


class NoSuchWheel(CaveError):
    """The book has no wheel of that code, label or id."""

    hint = "Its code stands on its label and on the list of wheels."

    def __init__(self, text: str) -> None:
        super().__init__(f"there is no wheel {text!r} in the book")
        self.text = text


class NoSuchCovering(CaveError):
    """A covering that is not on the list."""

    def __init__(self, text: str) -> None:
        super().__init__(f"covering must be one of {', '.join(COVERINGS)}, got {text!r}")
        self.text = text


def say(settings: Settings, text: str, under: str = "", aim_pct: float | None = None, on: date | None = None) -> str:
    """What is said of a wheel, in lines.

    Raises:
        NoSuchWheel, NoSuchCovering: what was named is not there.
    """
    if under and under not in COVERINGS:
        raise NoSuchCovering(under)
    engine, readings, now_at = open_prepared(settings.records_at), Readings(settings.readings_path), SystemClock().now()
    try:
        with reading(engine) as db:
            found = find(db, text) or wheels(db, wheel_table.c.id == text)
            if not found:
                raise NoSuchWheel(text)
            around = look_around(db, readings.db, readings.channels(), now_at)
            own = {style.id: style for style in styles(db)}
            answer = told(db, around, found[0].id, own, load(db), Wish(under, aim_pct, on))
            score = score_of(past(db, now_at)).words
            tried = score_of(past(db, now_at, kind=TRIED))
    finally:
        readings.close()
        engine.dispose()
    return "\n".join(_lines(answer, score, tried)) if answer else ""


def _lines(found: Told, score: str, tried: Score) -> list[str]:
    lines = [found.headline, *found.sentences, *found.odd, *found.moisture, found.counted_from]
    for word, rows in (("Where", found.places), ("Under", found.coverings)):
        lines += ["", *(f"{word} {name}: {lost} ({ends})" for name, lost, ends in rows)] if rows else []
    past_days = [f"Tried on past days: {tried.words}"] if tried.due else []
    return [*lines, "", f"Forecasts so far: {score}", *past_days]


def keep_now(settings: Settings) -> str:
    """Foretell all wheels that wait for it, and say how many."""
    kept, known = keep_all(settings, SystemClock().now())
    return f"{kept} foretold, {known} compared with what came."


def try_past_now(settings: Settings) -> str:
    """Foretell wheels from past days, and say how many."""
    tried, left = try_all(settings, SystemClock().now())
    later = f", {left} left for another time" if left else ""
    return f"{tried} foretold from past days{later}."
