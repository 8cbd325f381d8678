"""Quiet hours and snoozes: read from forms, and said in words."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta

from sqlalchemy import Connection, select

from collector.errors import EntryRefused
from collector.notify.holding import QuietHours
from collector.notify.known import Known
from collector.notify.telling import word
from collector.records.tables import snooze
from dashboard.forms import Form
from dashboard.telling.ways import people

MINUTES_AN_HOUR = 60
USUAL = {"from": "22:00", "to": "07:00", "urgent": "yes"}  # our choice, to begin with
HOURS = {"1": "1 hour", "4": "4 hours", "12": "12 hours", "24": "a day", "72": "3 days", "168": "a week"}
ME, ALL = "me", "all"
WHOM = {ME: "Only me", ALL: "Everybody, and the ways of the house"}


@dataclass(frozen=True, slots=True)
class Snoozed:
    """A running snooze; `mine` when it holds for the one who looks alone."""

    id: str
    about: str
    until_at: datetime
    by: str
    whom: str
    mine: bool
    rule: str | None
    place_id: str | None
    probe: str | None


def quiet_form(quiet: QuietHours | None) -> Form:
    """A person's quiet hours in the form; without any, the usual ones stand there and are switched off."""
    if quiet is None:
        return Form(USUAL)
    urgent = "yes" if quiet.urgent_passes else ""
    return Form({"on": "yes", "from": _clock(quiet.from_min), "to": _clock(quiet.to_min), "urgent": urgent})


def _clock(minute: int) -> str:
    return f"{minute // MINUTES_AN_HOUR:02d}:{minute % MINUTES_AN_HOUR:02d}"


def read_quiet(texts: Mapping[str, str]) -> QuietHours | None:
    """Quiet hours as typed, None when they are switched off.

    Raises:
        EntryRefused: a time that no day has, or the same one twice.
    """
    if not texts.get("on"):
        return None
    from_min, to_min = _minute(texts, "from"), _minute(texts, "to")
    if from_min == to_min:
        raise EntryRefused("to", "Quiet hours must end at another time than they begin.")
    return QuietHours(from_min, to_min, bool(texts.get("urgent")))


def _minute(texts: Mapping[str, str], field: str) -> int:
    text = texts.get(field, "").strip()
    try:
        found = time.fromisoformat(text.zfill(5))
    except ValueError:
        raise EntryRefused(field, f"It must be a time of the day like 22:00, got {text[:20] or 'nothing'}.") from None
    return found.hour * MINUTES_AN_HOUR + found.minute


def read_snooze(texts: Mapping[str, str], now_at: datetime, person_id: str) -> tuple[datetime, str | None]:
    """Until when, and for whom (None: for everybody).

    Raises:
        EntryRefused: a choice that there is not.
    """
    hours, whom = texts.get("hours", ""), texts.get("whom", ME)
    if hours not in HOURS:
        raise EntryRefused("hours", f"Take one of the choices: {', '.join(HOURS.values())}.")
    if whom not in WHOM:
        raise EntryRefused("whom", "Take one of the choices: only me, or everybody.")
    return now_at + timedelta(hours=int(hours)), (person_id or None) if whom == ME else None


def snoozed(db: Connection, known: Known, now_at: datetime, person_id: str) -> tuple[Snoozed, ...]:
    """Snoozes that run now and hold for this person, the one that ends first standing first."""
    rows = db.execute(
        select(snooze)
        .where(snooze.c.until_at > now_at, snooze.c.ended_at.is_(None))
        .where(snooze.c.person_id.is_(None) | (snooze.c.person_id == person_id))
        .order_by(snooze.c.until_at)
    )
    names = people(db)
    return tuple(
        Snoozed(
            row.id, _about(row.rule, row.place_id, row.probe, known), row.until_at, row.by,
            names.get(row.person_id or "", "everybody"), row.person_id is not None, row.rule, row.place_id, row.probe,
        )
        for row in rows
    )  # fmt: skip


def _about(rule: str | None, place_id: str | None, probe: str | None, known: Known) -> str:
    """What a snooze is about; without a place or probe it is the house."""
    subject = known.place_names.get(place_id or "") or known.probe_names.get(probe or "") or probe or "The house"
    return f"{subject}: {word(rule)}" if rule else subject


def covering(ones: Sequence[Snoozed], rule: str, place_id: str | None, probe: str | None) -> tuple[Snoozed, ...]:
    """Those that keep a problem quiet; a part of a snooze that is not named holds for all."""
    return tuple(
        one
        for one in ones
        if one.rule in (None, rule) and one.place_id in (None, place_id) and one.probe in (None, probe)
    )
