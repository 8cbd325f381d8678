"""What is known of the copies, for the settings page and its own: how old, where, and whether one can be restored."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from collector.backup.second_place import SecondPlace
from collector.copies import COPY, FAILED, SECOND, TRIAL
from collector.records.columns import from_ms
from collector.records.life import Sign


@dataclass(frozen=True, slots=True)
class CopiesShown:
    """What is known of the copies.

    Args:
        wanted: whether a place for them is named. made_at: the newest one, None before the first.
        elsewhere: whether it lies on another disk than the data. mb: its size.
        second: the second place, "" for none. sent_at: when it took a copy last. trouble: why not the newest.
        failed: why the last one could not be made, "" when it was.
        tried_at: when one was restored on trial, None when never. tried_well, tried: how that went, in words.
    """

    wanted: bool
    made_at: datetime | None = None
    elsewhere: bool = False
    mb: float = 0.0
    second: str = ""
    sent_at: datetime | None = None
    trouble: str = ""
    tried_at: datetime | None = None
    tried_well: bool = True
    tried: str = ""
    failed: str = ""

    @property
    def outside_at(self) -> datetime | None:
        """The newest copy that outlives this machine's disk."""
        return max((at for at in (self.made_at if self.elsewhere else None, self.sent_at) if at), default=None)


def copies_shown(wanted: bool, second: SecondPlace, command: str, signs: Mapping[str, Sign]) -> CopiesShown:
    """What the collector's signs of the last copy, its sending and the last trial say.

    Args:
        second: the place chosen on the page. command: the machine's own command, "" for none.
    """
    copied, failed, sent, tried = (signs.get(part) for part in (COPY, FAILED, SECOND, TRIAL))
    where = second.where or command
    same = sent is not None and sent.facts.get("where") == where
    good_ms = sent.facts.get("good_ms") if sent and same else None
    return CopiesShown(
        wanted,
        copied.at if copied else None,
        bool(copied and copied.facts.get("other_disk")),
        (copied.facts.get("bytes") or 0) / 1e6 if copied else 0.0,
        where,
        from_ms(int(good_ms)) if good_ms else None,
        str(sent.facts.get("reason") or "") if sent and same else "",
        tried.at if tried else None,
        bool(tried and tried.facts.get("well")),
        _trial_words(tried.facts) if tried else "",
        str(failed.facts.get("reason") or "") if failed else "",
    )


def _trial_words(facts: Mapping[str, object]) -> str:
    if not facts.get("well"):
        return str(facts.get("reason"))
    return f"{facts.get('readings')} readings, {facts.get('tables')} tables and {facts.get('photos')} photos"
