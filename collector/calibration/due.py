"""When a probe should be checked next; pure."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

DAY_MS = 86_400_000

# "A few times a year" for probes that live above the 80 %RH they are made for (data sheets name the range; the
# intervals are common practice, no source). A thermometer drifts by 0.03 K a year (data sheets): once a year will do.
EVERY_D = {"humidity": 180, "temperature": 365, "surface_temperature": 365}
EVERY_DAMP_D = 120
EVERY_WET_D = 90
DAMP_FROM_PCT = 80.0
WET_FROM_PCT = 93.0

Because = Literal["never_checked", "calendar", "sign"]


@dataclass(frozen=True, slots=True)
class Due:
    """When the next check is due, and why then."""

    at_ms: int
    because: Because


def next_check(
    quantity: str,
    first_ms: int,
    checked_ms: int | None,
    humidity_pct: float = float("nan"),
    signs_ms: Sequence[int] = (),
) -> Due | None:
    """When a channel should be checked next.

    Args:
        quantity: humidity, temperature or surface_temperature; others need no check and give None.
        first_ms: when the channel was first heard [ms].
        checked_ms: when it was last checked [ms], None for never.
        humidity_pct: at which it lives, a month's median say [%RH]; NaN when unknown, which counts as damp.
        signs_ms: when it began to creep or to disagree [ms]; those before the last check are over.
    Returns:
        The date. A humidity probe that was never checked is due at once; a thermometer a year after it was first heard.
    Source: common practice, see EVERY_D.
    """
    if quantity not in EVERY_D:
        return None
    if checked_ms is None and quantity == "humidity":
        return Due(first_ms, "never_checked")
    since = first_ms if checked_ms is None else checked_ms
    by_calendar = since + _every_d(quantity, humidity_pct) * DAY_MS
    signs = [at for at in signs_ms if at > since]
    if signs and min(signs) < by_calendar:
        return Due(min(signs), "sign")
    return Due(by_calendar, "calendar")


def _every_d(quantity: str, humidity_pct: float) -> int:
    if quantity != "humidity":
        return EVERY_D[quantity]
    if np.isnan(humidity_pct):
        return EVERY_DAMP_D
    if humidity_pct >= WET_FROM_PCT:
        return EVERY_WET_D
    return EVERY_DAMP_D if humidity_pct >= DAMP_FROM_PCT else EVERY_D[quantity]
