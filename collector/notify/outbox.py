"""The outbox: which message goes to which channel, written in the same commit as the warnings that it speaks of.

Messages are merged while nobody has tried to send them: problems of one place that begin within ten minutes are one
message, and what ends before its message went is told as over. From the first try on a message is frozen, because the
other side may have it already. An all-clear that did not hold is corrected by one message that it was not over.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from functools import cached_property
from typing import Any

from sqlalchemy import Connection, Row, and_, delete, insert, select, update

from collector.notify.channels import SEVERITIES, ChannelRow, channels, recipients
from collector.notify.holding import again_at
from collector.notify.known import Known, load_known
from collector.notify.outbox_rows import (
    DAY,
    NEVER,
    TOLD,
    UNTRIED,
    joined,
    last_told_at,
    same_problem,
    with_part,
    word_row,
)
from collector.notify.wishes import duty_order, setting_value
from collector.records.columns import new_id
from collector.records.tables import outbox, outbox_part, warning
from collector.records.warnings import CaveWarning, Outcome
from collector.vigilance.rules import VIGIL_RULES

GATHER_KEY = "notify.gather_min"
GATHER_MIN = 10  # our choice: as long as the steps by which air is judged
SETTLE = timedelta(minutes=30)  # our choice: by then a cooler has shown that it cools again
HOUSE = "house"

GOES_ON = ("opened", "reminder", "reopened")  # says that it lasts
IS_OVER = ("cleared", "over")  # "over": it began and ended in one message
OPENING = (*GOES_ON, "over")
RATIONED = ("opened", "over", "reopened")


def enqueue(connection: Connection, outcomes: Iterable[Outcome], now: datetime) -> None:
    """Write what the outcomes ask to be told, inside the caller's transaction.

    A warning that was found late and is over already is shown, not sent; so is a note.
    """
    changed = [o for o in outcomes if o.opened or o.cleared or o.withdrawn or o.reopened]
    if not changed:
        return
    desk = Desk(connection, now)
    for outcome in changed:
        for gone in outcome.withdrawn:
            desk.withdrawn(gone)
        for over in outcome.cleared:
            desk.cleared(over)
        for again in outcome.reopened:
            desk.reopened(again)
        for new in outcome.opened:
            desk.opened(new)
    desk.put_into_words()


class Desk:
    """One visit to the outbox, in one transaction of the records."""

    def __init__(self, connection: Connection, now: datetime) -> None:
        self._connection, self._now = connection, now
        self._touched: dict[str, None] = {}

    @cached_property
    def _known(self) -> Known:
        return load_known(self._connection, self._now)

    @cached_property
    def _channels(self) -> dict[str, ChannelRow]:
        return {row.id: row for row in channels(self._connection)}

    @cached_property
    def _gather(self) -> timedelta:
        chosen = setting_value(self._connection, GATHER_KEY)
        return timedelta(minutes=chosen if isinstance(chosen, (int, float)) and 0 <= chosen <= 60 else GATHER_MIN)

    def opened(self, new: CaveWarning, to: Sequence[ChannelRow] | None = None) -> None:
        """Tell of a new warning on the channels that it concerns, or on those given; a note concerns none."""
        if new.found_late and new.cleared_at is not None:
            return
        everyone = list(self._channels.values())
        for channel in (
            recipients(everyone, new.severity, duty_order(self._connection, self._now)) if to is None else to
        ):
            if not channel.tells_people:
                self._write(channel, "opened", new, "", self._now)
            elif not self._goes_on(channel, new):
                self._tell(channel, new)

    def cleared(self, over: CaveWarning) -> None:
        """Tell of the end on every channel that told of the beginning."""
        for channel, told, untried in self._openings(over):
            if told or not channel.tells_people:
                self._follow_up(channel, "cleared", over, [*untried, *told][-1])
            for row in untried if channel.tells_people else ():
                # It is told as over, in the same message. Nobody waits for word of what came back and went again.
                if told or row.kind == "again":
                    self._take_back(row.id, over)
                else:
                    self._say_instead(row.id, over, "opened", "over")

    def reopened(self, again: CaveWarning) -> None:
        """Say once that it was not over wherever that was told; elsewhere the warning is told as any."""
        concerned = recipients(list(self._channels.values()), again.severity, duty_order(self._connection, self._now))
        for channel in self._channels.values():
            if not channel.takes(again.severity):
                continue
            waits = self._still_to_say(channel, again)
            told_over, told_on = (last_told_at(self._connection, again, channel.id, s) for s in (IS_OVER, GOES_ON))
            if told_over > told_on and not waits:
                self._reopen(channel, again)
            elif told_on == NEVER and not waits and channel in concerned:
                self.opened(again, [channel])

    def _still_to_say(self, channel: ChannelRow, again: CaveWarning) -> bool:
        """Take back what would say that it is over; True when what remains untried will say that it lasts."""
        waits = False
        for row_id in self._untried_with(channel, again):
            self._take_back(row_id, again, "cleared")
            self._say_instead(row_id, again, "over", "opened")
            waits = waits or self._speaks_of(row_id, again)
        return waits

    def _reopen(self, channel: ChannelRow, again: CaveWarning) -> None:
        thread = next((rows[0].thread or rows[0].id for c, rows, _ in self._openings(again) if c.id == channel.id), "")
        if not channel.tells_people:
            self._write(channel, "reopened", again, "", self._now, thread)
            return
        hold = timedelta(0) if again.severity == "urgent" else self._gather
        soonest = again_at(self._told_at(channel, again), self._now)
        late = soonest > self._now + hold
        group = f"reopened:{again.id}" if late else self._group(again)
        row = self._pending(channel, "reopened", group)
        if row is None:
            self._write(channel, "reopened", again, group, max(soonest, self._now + hold), thread)
        else:
            self._add_part(row.id, again, "reopened")

    def withdrawn(self, gone: CaveWarning) -> None:
        """Correct, once, what was told and does not hold."""
        for channel, told, _ in self._openings(gone):
            for row_id in self._untried_with(channel, gone):
                self._take_back(row_id, gone)
            if told:
                self._follow_up(channel, "withdrawn", gone, told[-1])

    def remind(self, still: CaveWarning, channel: ChannelRow) -> None:
        """Say again that a warning is open, because its snooze is over."""
        thread = next((rows[-1].id for c, rows, _ in self._openings(still) if c.id == channel.id and rows), "")
        self._write(channel, "reminder", still, f"reminder:{still.id}", self._now, thread)

    def refresh(self, warning_ids: Iterable[str]) -> None:
        """Put messages that nobody has tried to send into words again: their warnings know more now."""
        for warning_id in warning_ids:
            rows = self._connection.execute(with_part(select(outbox.c.id), warning_id).where(UNTRIED))
            self._touched |= dict.fromkeys(rows.scalars())

    def _tell(self, channel: ChannelRow, new: CaveWarning) -> None:
        hold = timedelta(0) if new.severity == "urgent" else self._gather
        if new.cleared_at is not None and _settles(new):
            hold = SETTLE
        soonest = again_at(self._told_at(channel, new), self._now)
        if soonest > self._now + hold:
            key = f"again:{new.rule}:{new.place_id or ''}:{new.probe or ''}:{new.field or ''}"
            self._write(channel, "again", new, key[:260], soonest)
            return
        group = self._group(new)
        row = self._pending(channel, "opened", group) or self._after_outage(channel, new, group)
        if row is None:
            self._write(channel, "opened", new, group, self._now + hold)
            return
        severity = max(row.severity, new.severity, key=SEVERITIES.index)
        due = min(row.next_at, self._now + hold) if new.severity == "urgent" else row.next_at
        self._connection.execute(update(outbox).where(outbox.c.id == row.id).values(severity=severity, next_at=due))
        self._replace(row.id, new)

    def _replace(self, row_id: str, new: CaveWarning) -> None:
        """Add a part; what the message would have said of the same problem before is over, and told with it."""
        same = joined(select(warning.c.id)).where(outbox.c.id == row_id, same_problem(new))
        for before in self._connection.execute(same).scalars().all():
            own = and_(outbox_part.c.outbox_id == row_id, outbox_part.c.warning_id == before)
            self._connection.execute(delete(outbox_part).where(own))
        self._add_part(row_id, new, "opened")

    def _after_outage(self, channel: ChannelRow, new: CaveWarning, group: str) -> Row[Any] | None:
        """While the report on an outage waits, what a place suffered from it joins that one message."""
        if new.severity == "urgent" or group == HOUSE:
            return None
        settling = [name for name, rule in VIGIL_RULES.items() if rule.settles]
        query = joined(select(outbox)).where(UNTRIED, outbox.c.channel == channel.id, warning.c.rule.in_(settling))
        return self._connection.execute(query.where(warning.c.cleared_at.is_not(None)).limit(1)).first()

    def _goes_on(self, channel: ChannelRow, new: CaveWarning) -> bool:
        """The same problem came back before its all-clear went out: nothing is said, and it goes on."""
        same = and_(same_problem(new), UNTRIED, outbox.c.channel == channel.id)
        query = joined(select(outbox.c.id, warning.c.id.label("before")))
        ends = query.where(same, outbox_part.c.said.in_(("cleared", "withdrawn")))
        row = self._connection.execute(ends.limit(1)).first()
        if row is None:
            return False
        self._connection.execute(
            delete(outbox_part).where(outbox_part.c.outbox_id == row.id, outbox_part.c.warning_id == row.before)
        )
        self._touched[row.id] = None
        opening = with_part(select(outbox.c.id), row.before, OPENING).where(outbox.c.channel == channel.id, TOLD)
        self._add_part(
            self._connection.execute(opening.order_by(outbox.c.created_at.desc())).scalars().first() or "",
            new,
            "opened",
        )
        return True

    def _told_at(self, channel: ChannelRow, new: CaveWarning) -> list[datetime]:
        """When earlier warnings of the same problem were told on a channel within a day."""
        query = joined(select(outbox.c.id, outbox.c.created_at, outbox.c.sent_at)).where(
            same_problem(new), outbox.c.channel == channel.id, TOLD, outbox_part.c.said.in_(RATIONED),
            outbox.c.created_at > self._now - 2 * DAY,
        )  # fmt: skip
        return [row.sent_at or row.created_at for row in self._connection.execute(query.distinct())]

    def _openings(self, about: CaveWarning) -> list[tuple[ChannelRow, list[Row[Any]], list[Row[Any]]]]:
        """Channels on which a warning was told, or waits to be: (channel, rows told, rows untried)."""
        query = with_part(select(outbox), about.id, OPENING).where(outbox.c.dropped_at.is_(None))
        rows = self._connection.execute(query.order_by(outbox.c.created_at)).all()
        found = []
        for channel_id in dict.fromkeys(row.channel for row in rows):
            own = [row for row in rows if row.channel == channel_id and row.given_up_at is None]
            channel = self._channels.get(channel_id)
            if channel is not None and channel.is_on:
                told = [row for row in own if row.attempts > 0]
                found.append((channel, told, [row for row in own if row.attempts == 0 and row.sent_at is None]))
        return found

    def _follow_up(self, channel: ChannelRow, said: str, about: CaveWarning, first: Row[Any]) -> None:
        """An all-clear or a correction, once."""
        reopened_at = last_told_at(self._connection, about, channel.id, ("reopened",))
        before = with_part(select(outbox.c.id), about.id, (said,)).where(
            outbox.c.channel == channel.id, outbox.c.dropped_at.is_(None), outbox.c.created_at > reopened_at
        )
        if self._connection.execute(before).first() is not None:
            return
        kind = "corrected" if said == "withdrawn" else said
        if not channel.tells_people:
            self._write(channel, kind, about, "", self._now, first.id, said)
            return
        group = self._group(about)
        row = self._pending(channel, kind, group)
        if row is not None:
            self._add_part(row.id, about, said)
            return
        hold = SETTLE if _settles(about) and said == "cleared" else self._gather
        self._write(channel, kind, about, group, self._now + hold, first.thread or first.id, said)

    def _pending(self, channel: ChannelRow, kind: str, group: str) -> Row[Any] | None:
        query = select(outbox).where(
            UNTRIED, outbox.c.channel == channel.id, outbox.c.kind == kind, outbox.c.group_key == group
        )
        return self._connection.execute(query.order_by(outbox.c.created_at).limit(1)).first()

    def _untried_with(self, channel: ChannelRow, about: CaveWarning) -> list[str]:
        query = with_part(select(outbox.c.id), about.id).where(UNTRIED, outbox.c.channel == channel.id)
        return list(self._connection.execute(query).scalars())

    def _group(self, about: CaveWarning) -> str:
        """Problems of one place belong together, and those of the house."""
        if about.rule in VIGIL_RULES:
            return HOUSE
        place_id = self._known.place_of(about)
        return f"place:{place_id}" if place_id else f"probe:{about.probe or ''}"

    def _write(
        self,
        channel: ChannelRow,
        kind: str,
        about: CaveWarning,
        group: str,
        due: datetime,
        thread: str = "",
        said: str = "",
    ) -> None:
        row_id = new_id()
        values = {
            "id": row_id, "warning_id": about.id, "kind": kind, "channel": channel.id, "title": "", "body": "",
            "path": f"/warnings/{about.id}", "created_at": self._now, "next_at": due, "severity": about.severity,
            "group_key": group, "thread": thread,
        }  # fmt: skip
        self._connection.execute(insert(outbox).values(**values))
        self._add_part(row_id, about, said or {"again": "opened"}.get(kind, kind))

    def _add_part(self, row_id: str, about: CaveWarning, said: str) -> None:
        if row_id:
            self._connection.execute(insert(outbox_part).values(outbox_id=row_id, warning_id=about.id, said=said))
            self._touched[row_id] = None

    def _take_back(self, row_id: str, about: CaveWarning, said: str = "") -> None:
        """Not to speak of a warning in a message, or not in one sense."""
        own = and_(outbox_part.c.outbox_id == row_id, outbox_part.c.warning_id == about.id)
        own = own & (outbox_part.c.said == said) if said else own
        self._connection.execute(delete(outbox_part).where(own))
        self._touched[row_id] = None

    def _say_instead(self, row_id: str, about: CaveWarning, said: str, instead: str) -> None:
        own = and_(outbox_part.c.outbox_id == row_id, outbox_part.c.warning_id == about.id, outbox_part.c.said == said)
        self._connection.execute(update(outbox_part).where(own).values(said=instead))
        self._touched[row_id] = None

    def _speaks_of(self, row_id: str, about: CaveWarning) -> bool:
        own = and_(outbox_part.c.outbox_id == row_id, outbox_part.c.warning_id == about.id)
        return self._connection.execute(select(outbox_part.c.said).where(own)).first() is not None

    def put_into_words(self) -> None:
        """Write the texts of the messages that changed and were not tried yet; one that says nothing is dropped."""
        for row_id in self._touched:
            row = self._connection.execute(select(outbox).where(outbox.c.id == row_id, UNTRIED)).first()
            if row is not None:
                word_row(self._connection, row_id, self._known, self._now)
        self._touched.clear()


def _settles(about: CaveWarning) -> bool:
    rule = VIGIL_RULES.get(about.rule)
    return rule is not None and rule.settles
