"""What the vigil is handed, sees and says; values only."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from collector.records.warnings import CaveWarning, Subject
from collector.vigilance.rules import VigilRule

Key = tuple[str, Subject]  # a rule's name and whom it is about
HOUSE = Subject()  # rindwatch itself


@dataclass(frozen=True, slots=True)
class SecondStore:
    """How the copying of readings to a second store goes.

    Args:
        state: following, away or shut. began_at: since when it is being filled.
        complete_at: up to when everything is there; None before the first time.
    """

    state: str
    began_at: datetime
    complete_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Handed:
    """What the collector knows of itself.

    Args:
        broker_connected: whether the broker lets us in now. broker_since_at: since when that is so, None at the start.
        store_refusing_since_at: since when the store takes nothing; None while it takes everything.
        store_reason: why, in the system's words; for the log and the facts.
        second: the second store of readings; None where there is none.
    """

    broker_connected: bool
    broker_since_at: datetime | None = None
    store_refusing_since_at: datetime | None = None
    store_reason: str = ""
    second: SecondStore | None = None


@dataclass(frozen=True, slots=True)
class Probe:
    """A probe that hangs somewhere: when its last message came, and what it promises."""

    name: str
    topic: str
    last_ms: int
    at_latest_every_s: float | None = None


@dataclass(frozen=True, slots=True)
class View:
    """What there is to see at one step.

    Args:
        probes: those that are placed and were heard, by name.
        open: the vigil's own open warnings.
    """

    now: datetime
    handed: Handed
    probes: Mapping[str, Probe] = field(default_factory=dict)
    open: Mapping[Key, CaveWarning] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Finding:
    """Something that is so now, or was: then it is opened and over at once.

    Args:
        since_at: when it began. over_at: when it ended; None while it lasts.
        severity: another than the rule's, None for the rule's.
    """

    rule: VigilRule
    since_at: datetime
    subject: Subject = HOUSE
    facts: dict[str, Any] = field(default_factory=dict)
    over_at: datetime | None = None
    severity: str | None = None

    @property
    def key(self) -> Key:
        return self.rule.name, self.subject


@dataclass(frozen=True, slots=True)
class Look:
    """What one look found; a warning of its rules that is open and not in it has ended.

    Args:
        found: what is so, or was.
        kept: open warnings that cannot be judged now and stay as they are.
        ended: when one that has ended did, and facts to add, by key; without an entry it ended now.
    """

    found: tuple[Finding, ...] = ()
    kept: frozenset[Key] = frozenset()
    ended: Mapping[Key, tuple[datetime, dict[str, Any]]] = field(default_factory=dict)
