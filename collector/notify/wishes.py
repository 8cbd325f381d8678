"""What people asked for, in the records: quiet hours, snoozes, and who is on duty."""

from datetime import datetime
from typing import Any

from sqlalchemy import Connection, delete, insert, or_, select, update

from collector.errors import EntryRefused
from collector.notify.away import load_away
from collector.notify.holding import MINUTES_A_DAY, QuietHours, Snooze, Wishes
from collector.notify.household import load_household
from collector.records.columns import new_id
from collector.records.tables import person, quiet_hours, setting, snooze
from collector.records.warnings import CaveWarning

DUTY_KEY = "notify.duty_order"


def setting_value(connection: Connection, key: str) -> Any:
    """The value of a row of settings, None when there is none."""
    return connection.execute(select(setting.c.value).where(setting.c.key == key)).scalar()


def keep_setting(connection: Connection, key: str, value: Any) -> None:
    if connection.execute(update(setting).where(setting.c.key == key).values(value=value)).rowcount == 0:
        connection.execute(insert(setting).values(key=key, value=value))


def duty_order(connection: Connection, now: datetime) -> tuple[str, ...]:
    """People on duty now, the first to be told first; empty: everybody is told at once.

    While somebody is away, the one on duty is first, then who is away. People who are not known or whose access is
    over, or has not begun, are left out.
    """
    order, away = usual_order(connection), load_away(connection)
    if away is not None and away.holds(now, load_household(connection).zone):
        order = away.order(order)
    if not order:
        return ()
    p = person.c
    here = or_(p.from_at.is_(None), p.from_at <= now) & or_(p.to_at.is_(None), p.to_at > now)
    known = set(connection.execute(select(p.id).where(here)).scalars())
    return tuple(one for one in order if one in known)


def usual_order(connection: Connection) -> tuple[str, ...]:
    """The duty order as it was chosen, whoever is away."""
    chosen = setting_value(connection, DUTY_KEY)
    return tuple(str(one) for one in chosen) if isinstance(chosen, list) else ()


def wishes_of(connection: Connection, person_id: str | None, now: datetime) -> Wishes:
    """Quiet hours and running snoozes that hold for a person, or for a channel of the house (None)."""
    rows = connection.execute(select(snooze).where(snooze.c.until_at > now, snooze.c.ended_at.is_(None)))
    snoozes = tuple(Snooze(row.until_at, row.rule, row.place_id, row.probe, row.person_id) for row in rows)
    if person_id is None:
        return Wishes(None, None, snoozes)
    row = connection.execute(select(quiet_hours).where(quiet_hours.c.person_id == person_id)).first()
    quiet = None if row is None else QuietHours(row.from_min, row.to_min, row.urgent_passes)
    return Wishes(person_id, quiet, snoozes)


def keep_quiet_hours(connection: Connection, person_id: str, quiet: QuietHours | None) -> None:
    """Set a person's quiet hours, or none.

    Raises:
        EntryRefused: a time that no day has, or a quiet time without an end.
    """
    connection.execute(delete(quiet_hours).where(quiet_hours.c.person_id == person_id))
    if quiet is None:
        return
    if not (0 <= quiet.from_min < MINUTES_A_DAY and 0 <= quiet.to_min < MINUTES_A_DAY):
        raise EntryRefused("quiet", "Quiet hours need two times of the day, like 22:00 and 7:00.")
    if quiet.from_min == quiet.to_min:
        raise EntryRefused("quiet", "Quiet hours must end at another time than they begin.")
    connection.execute(
        insert(quiet_hours).values(
            person_id=person_id, from_min=quiet.from_min, to_min=quiet.to_min, urgent_passes=quiet.urgent_passes
        )
    )


def keep_snooze(
    connection: Connection,
    about: CaveWarning,
    until_at: datetime,
    now: datetime,
    *,
    by: str = "",
    person_id: str | None = None,
) -> str:
    """Stop telling of a warning's problem until a time; a person None means everybody. Returns the snooze's id.

    Raises:
        EntryRefused: a time that is past.
    """
    if until_at <= now:
        raise EntryRefused("until", "Take a time that is still to come.")
    snooze_id = new_id()
    connection.execute(
        insert(snooze).values(
            id=snooze_id, rule=about.rule, place_id=about.place_id, probe=about.probe, person_id=person_id,
            until_at=until_at, by=by, made_at=now,
        )
    )  # fmt: skip
    return snooze_id


def end_snooze(connection: Connection, snooze_id: str, now: datetime) -> None:
    """Wake it before its time."""
    connection.execute(update(snooze).where(snooze.c.id == snooze_id, snooze.c.until_at > now).values(until_at=now))
