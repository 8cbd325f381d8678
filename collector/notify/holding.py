"""When a message may go: quiet hours, snoozes, how often, and who is told next; pure.

The promise, for one channel to people:
- of one problem (one rule about one place or probe) at most five warnings in any 24 hours, each with at most one
  all-clear or correction: a problem that comes and goes waits 0, 1, 2, 4, 8 hours after its last warning; word that
  it was not over is one of the five;
- at most 6 messages in any hour and 24 in any 24 hours, whatever happens, the last of them kept for urgent ones; what
  is beyond is not lost but gathered into the next message.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from collector.records.warnings import CaveWarning

HOUR, DAY = timedelta(hours=1), timedelta(hours=24)
AGAIN_WAITS = (timedelta(0), HOUR, 2 * HOUR, 4 * HOUR, 8 * HOUR)  # our choice, see the promise
MOST_AN_HOUR, MOST_A_DAY = 6, 24  # our choice: more than that nobody reads
KEPT_AN_HOUR, KEPT_A_DAY = 1, 4  # of them, for urgent ones only
UNSEEN = HOUR  # how long the next person waits for the one before to look
MINUTES_A_DAY = 1_440


@dataclass(frozen=True, slots=True)
class QuietHours:
    """When a person does not want to be woken, in minutes after local midnight; may run over midnight."""

    from_min: int
    to_min: int
    urgent_passes: bool = True


@dataclass(frozen=True, slots=True)
class Snooze:
    """Not to be told of something until a time; None matches everything, and everybody."""

    until_at: datetime
    rule: str | None = None
    place_id: str | None = None
    probe: str | None = None
    person_id: str | None = None

    def covers(self, warning: CaveWarning, person_id: str | None) -> bool:
        """Whether it holds for a warning to a person; a channel of the whole house has person None."""
        return (
            self.rule in (None, warning.rule)
            and self.place_id in (None, warning.place_id)
            and self.probe in (None, warning.probe)
            and self.person_id in (None, person_id)
        )


def quiet_until(at: datetime, quiet: QuietHours, zone: ZoneInfo) -> datetime | None:
    """The end of the quiet hours that hold at a time, None when none hold.

    Args:
        at: aware. quiet: the same from and to mean no quiet hours. zone: the household's.
    Returns:
        Aware; on the days on which clocks are set the wall time counts.
    """
    here = at.astimezone(zone)
    minute = here.hour * 60 + here.minute
    length = (quiet.to_min - quiet.from_min) % MINUTES_A_DAY
    if (minute - quiet.from_min) % MINUTES_A_DAY >= length:
        return None
    to_min = quiet.to_min % MINUTES_A_DAY
    end = datetime.combine(here.date(), time(to_min // 60, to_min % 60), zone)
    if end <= here:
        end = datetime.combine(here.date() + timedelta(days=1), time(to_min // 60, to_min % 60), zone)
    return end.astimezone(at.tzinfo)


def snoozed_until(
    warning: CaveWarning, person_id: str | None, snoozes: Iterable[Snooze], at: datetime
) -> datetime | None:
    """The latest end of the snoozes that hold for a warning at a time, None when none hold."""
    return max((s.until_at for s in snoozes if s.until_at > at and s.covers(warning, person_id)), default=None)


@dataclass(frozen=True, slots=True)
class Wishes:
    """What one person (or, as None, the house) asked for."""

    person_id: str | None = None
    quiet: QuietHours | None = None
    snoozes: tuple[Snooze, ...] = ()


def held_until(
    severity: str, warnings: Sequence[CaveWarning], wishes: Wishes, zone: ZoneInfo, at: datetime
) -> datetime | None:
    """Until when a message waits; None: it may go now.

    Args:
        severity: of the message. warnings: those it speaks of. wishes: the person's. zone: the household's. at: now.
    Returns:
        The end of the quiet hours, or the first end of a snooze when every one of its warnings is snoozed.
    """
    ends = [snoozed_until(w, wishes.person_id, wishes.snoozes, at) for w in warnings]
    asleep = [end for end in ends if end is not None]
    if ends and len(asleep) == len(ends):
        return min(asleep)
    if wishes.quiet is None or (severity == "urgent" and wishes.quiet.urgent_passes):
        return None
    return quiet_until(at, wishes.quiet, zone)


def again_at(told_at: Sequence[datetime], at: datetime) -> datetime:
    """When a problem that came back may be told: at once, or later the oftener it was told within a day.

    Args:
        told_at: when its warnings went out before; times after now, from before a clock was set back, do not count.
        at: now.
    """
    recent = sorted(when for when in told_at if at - DAY < when <= at)
    if not recent:
        return at
    if len(recent) >= len(AGAIN_WAITS):
        return recent[-len(AGAIN_WAITS)] + DAY
    return max(at, recent[-1] + AGAIN_WAITS[len(recent)])


def free_at(sent_at: Sequence[datetime], severity: str, at: datetime) -> datetime:
    """When a channel may carry one more message; `at` itself when it may now.

    Args:
        sent_at: when messages went out on it before; times after now do not count. severity: of the one that waits.
        at: now.
    """
    urgent = severity == "urgent"
    free = at
    for span, most, kept in ((HOUR, MOST_AN_HOUR, KEPT_AN_HOUR), (DAY, MOST_A_DAY, KEPT_A_DAY)):
        allowed = most if urgent else most - kept
        within = sorted(when for when in sent_at if at - span < when <= at)
        if len(within) >= allowed:
            free = max(free, within[-allowed] + span)
    return free


def next_in_line(
    order: Sequence[str], told_at: Mapping[str, datetime], seen_at: datetime | None, at: datetime
) -> str | None:
    """Who is told now because nobody has looked for an hour; None when nobody else is.

    Args:
        order: people on duty, the first to be told first. told_at: when each was told. seen_at: when anybody looked.
        at: now.
    """
    if seen_at is not None or not told_at or max(told_at.values()) > at - UNSEEN:
        return None
    return next((person for person in order if person not in told_at), None)
