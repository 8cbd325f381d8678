"""Builders for tests about messages: a warning, a channel that keeps what it was given, a house with an outbox."""

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from typing import Any

from sqlalchemy import Engine, select

from collector.clock import ManualClock
from collector.errors import WarningNotSent
from collector.notify.channels import ChannelRow, add_channel
from collector.notify.delivery import Delivered, deliver
from collector.notify.message import Message
from collector.notify.outbox import enqueue
from collector.records.columns import new_id, to_ms
from collector.records.tables import outbox, person, setting, warning
from collector.records.warnings import CaveWarning, Outcome

NOON = datetime(2026, 3, 12, 12, 0, tzinfo=UTC)
DRIFT_FACTS = {
    "quantity": "temperature", "unit": "Cel", "side": "high", "limit": 14.0, "last": 14.8, "worst": 15.2,
    "mean": 14.5, "dose": 2.4, "per_h": 0.4, "heading": "away",
}  # fmt: skip


def a_warning(
    rule: str = "too_warm",
    place_id: str | None = "lower",
    probe: str | None = None,
    opened_at: datetime = NOON,
    severity: str = "warn",
    since_min: int = 120,
    facts: Mapping[str, Any] | None = None,
    **others: Any,
) -> CaveWarning:
    """A warning as a rule would open it."""
    own = DRIFT_FACTS if facts is None else facts
    since = {"since_ms": to_ms(opened_at - timedelta(minutes=since_min))} if since_min else {}
    return CaveWarning(
        id=new_id(),
        rule=rule,
        severity=severity,
        opened_at=opened_at,
        found_at=opened_at,
        place_id=place_id,
        probe=probe,
        facts={**since, **own},
        **others,
    )


class Kept:
    """A channel that keeps what it was given, or refuses as told."""

    def __init__(self) -> None:
        self.messages: list[Message] = []
        self.tries: list[Message] = []
        self.refusal: WarningNotSent | None = None

    def send(self, message: Message) -> None:
        self.tries.append(message)
        if self.refusal is not None:
            raise self.refusal
        self.messages.append(message)

    @property
    def titles(self) -> list[str]:
        return [message.title for message in self.messages]


class House:
    """Records, a clock, and channels that keep; time goes on in steps in which the outbox is delivered."""

    def __init__(self, records: Engine) -> None:
        self.records, self.clock = records, ManualClock(NOON)
        self.kept: dict[str, Kept] = {}

    @property
    def now(self) -> datetime:
        return self.clock.now()

    def add_channel(self, kind: str = "apprise", **others: Any) -> str:
        options = {"apprise": {"url": "mailto://house"}, "webhook": {"url": "https://hook.example/x"}}.get(kind, {})
        with self.records.begin() as connection:
            channel_id = add_channel(connection, kind, kind, dict(options), self.now, **others)
        self.kept[channel_id] = Kept()
        return channel_id

    def add_person(self, name: str) -> str:
        person_id = new_id()
        with self.records.begin() as connection:
            connection.execute(person.insert().values(id=person_id, name=name, role="owner", created_at=self.now))
        return person_id

    def set(self, key: str, value: Any) -> None:
        with self.records.begin() as connection:
            connection.execute(setting.delete().where(setting.c.key == key))
            connection.execute(setting.insert().values(key=key, value=value))

    def open(self, *new: CaveWarning) -> None:
        with self.records.begin() as connection:
            for one in new:
                connection.execute(warning.insert().values({n: getattr(one, n) for n in one.__dataclass_fields__}))
            enqueue(connection, [Outcome(opened=new)], self.now)

    def clear(self, *over: CaveWarning) -> None:
        self._change({"cleared_at": self.now}, over, "cleared")

    def reopen(self, *again: CaveWarning) -> None:
        self._change({"cleared_at": None}, again, "reopened")

    def withdraw(self, *gone: CaveWarning) -> None:
        self._change({"withdrawn_at": self.now}, gone, "withdrawn")

    def _change(self, values: dict[str, Any], about: tuple[CaveWarning, ...], how: str) -> None:
        with self.records.begin() as connection:
            for one in about:
                connection.execute(warning.update().where(warning.c.id == one.id).values(**values))
            rows = connection.execute(select(warning).where(warning.c.id.in_([one.id for one in about])))
            changed = tuple(CaveWarning(**row._mapping) for row in rows)
            enqueue(connection, [Outcome(**{how: changed})], self.now)

    def make(self, row: ChannelRow) -> Kept:
        return self.kept[row.id]

    def deliver(self) -> Delivered:
        return deliver(self.records, self.make, self.clock)

    def wait(self, minutes: float = 10, step_min: float = 5) -> None:
        """Let time go by, and the outbox be delivered as it does."""
        end = self.now + timedelta(minutes=minutes)
        self.deliver()
        while self.now < end:
            self.clock.advance(min(timedelta(minutes=step_min), end - self.now))
            self.deliver()

    def rows(self) -> list[Any]:
        with self.records.connect() as connection:
            return list(connection.execute(select(outbox).order_by(outbox.c.created_at, outbox.c.id)))
