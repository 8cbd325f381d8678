"""How the copying goes."""

from dataclasses import dataclass
from datetime import datetime

BATCH = 5_000  # points sent at once: what InfluxDB's "Optimize writes" recommends


@dataclass(frozen=True, slots=True)
class FollowerState:
    """What the follower says of itself.

    Args:
        state: following, away or shut. reason: in words, when it does not follow.
        since_at: since when it is in this state. copied_at: when a batch was last taken.
        complete_at: everything that had arrived by then is there; None while it has not been so since the start.
    """

    state: str = "following"
    reason: str = ""
    since_at: datetime | None = None
    copied_at: datetime | None = None
    complete_at: datetime | None = None
    points: int = 0
    set_aside: int = 0
    batch: int = BATCH
