"""The plan for days away, read from its form and kept: who stands in, until when they may come in."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from sqlalchemy import Connection

from collector.errors import EntryRefused
from collector.notify.away import EVENING_MIN, Away, keep_away, load_away
from dashboard.forms import Form, of_field
from dashboard.household import Household
from dashboard.moments_typed import habits
from dashboard.people.stays import add_for_a_stay, change_stay, end_stay
from dashboard.wheels.days_typed import parse_day

NEW = "new"
LONGEST_D = 120  # our choice: longer is no journey but another keeper
LONGEST_WORDS = 1_000
MINUTES_AN_HOUR = 60


@dataclass(frozen=True, slots=True)
class Asked:
    """A filled-in form; `name` of somebody new, `person_id` of somebody known."""

    from_on: date
    to_on: date
    person_id: str
    name: str
    evening_min: int
    call: str
    words: str


def form_of(away: Away | None, today: date) -> Form:
    """The plan in its form; without one, a week from today."""
    if away is None:
        return Form({
            "from": today.isoformat(), "to": (today + timedelta(days=7)).isoformat(), "who": NEW,
            "evening": _clock(EVENING_MIN),
        })  # fmt: skip
    return Form({
        "from": away.from_on.isoformat(), "to": away.to_on.isoformat(), "who": away.person_id,
        "evening": _clock(away.evening_min), "call": away.call, "words": away.words,
    })  # fmt: skip


def _clock(minute: int) -> str:
    return f"{minute // MINUTES_AN_HOUR:02d}:{minute % MINUTES_AN_HOUR:02d}"


def read(texts: Mapping[str, str], people: Mapping[str, str], household: Household, now_at: datetime) -> Asked:
    """The form as typed.

    Args:
        people: who may stand in, name by id.
    Raises:
        EntryRefused: the first field that cannot be taken.
    """
    from_on, to_on = (_day(texts, field, household, now_at) for field in ("from", "to"))
    today = habits(household, now_at).today
    if to_on < from_on:
        raise EntryRefused("to", f"The last day must not lie before the first, got {to_on} and {from_on}.")
    if to_on < today:
        raise EntryRefused("to", f"The last day must still be to come, got {to_on}.")
    if (to_on - from_on).days >= LONGEST_D:
        raise EntryRefused("to", f"Take at most {LONGEST_D} days; these are {(to_on - from_on).days + 1}.")
    who = texts.get("who", "")
    if who != NEW and who not in people:
        raise EntryRefused("who", "Take one of the choices.")
    return Asked(
        from_on, to_on, "" if who == NEW else who, texts.get("name", "").strip() if who == NEW else "",
        _minute(texts.get("evening", "")), _words(texts, "call"), _words(texts, "words"),
    )  # fmt: skip


def _day(texts: Mapping[str, str], field: str, household: Household, now_at: datetime) -> date:
    try:
        return parse_day(texts.get(field, ""), habits(household, now_at), field="the day", ahead=True)
    except EntryRefused as refused:
        raise of_field(field, refused) from refused


def _minute(text: str) -> int:
    try:
        found = time.fromisoformat(text.strip().zfill(5))
    except ValueError:
        got = text.strip()[:20] or "nothing"
        raise EntryRefused("evening", f"It must be a time of the day like 20:00, got {got}.") from None
    return found.hour * MINUTES_AN_HOUR + found.minute


def _words(texts: Mapping[str, str], field: str) -> str:
    text = texts.get(field, "").strip()
    if len(text) > LONGEST_WORDS:
        raise EntryRefused(field, f"Take at most {LONGEST_WORDS} characters; this has {len(text)}.")
    return text


def keep(db: Connection, asked: Asked, away_id: str, household: Household, now_at: datetime) -> Away:
    """Keep the plan in place of the one before, inside the caller's transaction.

    Somebody new, or known for some days only, may come in from the first day to the end of the last. Whoever stood in
    before and does no more has no access any more.

    Raises:
        EntryRefused: a name that cannot be.
    """
    before = load_away(db)
    days = Away(asked.from_on, asked.to_on, "", away_id)
    from_at, to_at = days.from_at(household.zone), days.to_at(household.zone)
    if asked.person_id:
        person_id = asked.person_id
        change_stay(db, person_id, from_at, to_at)
    else:
        person_id = add_for_a_stay(db, asked.name, from_at, to_at, now_at)
    if before is not None and before.person_id != person_id:
        end_stay(db, before.person_id, now_at)
    away = Away(asked.from_on, asked.to_on, person_id, away_id, asked.evening_min, asked.call, asked.words)
    keep_away(db, away)
    return away


def come_back(db: Connection, now_at: datetime) -> None:
    """The plan is over now: the usual order holds, and access that was given for it ends."""
    away = load_away(db)
    if away is not None:
        end_stay(db, away.person_id, now_at)
        keep_away(db, None)
