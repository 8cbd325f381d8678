"""How old the newest copy outside this machine is, for the settings page."""

from dataclasses import dataclass
from datetime import datetime

from collector.records.life import Sign


@dataclass(frozen=True, slots=True)
class NewestCopy:
    """What is known of the nightly copy.

    Args:
        wanted: whether a folder for it is named. made_at: the newest one, None before the first.
        elsewhere: whether it lies on another disk than the data.
    """

    wanted: bool
    made_at: datetime | None = None
    elsewhere: bool = False


def newest_copy(wanted: bool, sign: Sign | None) -> NewestCopy:
    """What the collector's sign of the last copy says."""
    if sign is None:
        return NewestCopy(wanted)
    return NewestCopy(wanted, sign.at, bool(sign.facts.get("other_disk")))
