"""Wheels laid over each other from day 0: what each had lost and how it tasted at an age; pure."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

# A weighing speaks for an age when it lies no further away than this share of it, and never less than a week. Our
# choice: a wheel of six months is weighed monthly, one of a fortnight weekly.
NEAR_SHARE = 0.12
NEAR_LEAST_D = 7.0
DAY_S = 86_400


@dataclass(frozen=True, slots=True)
class AtAge:
    """A value at an age [d]: what was lost [%], or a verdict, 1 to 5."""

    age_d: float
    value: float


@dataclass(frozen=True, slots=True)
class Tasted:
    """A tasting at an age [d]: verdict 1 to 5 or None, and its words."""

    age_d: float
    verdict: int | None
    words: str
    next_time: str


@dataclass(frozen=True, slots=True)
class Course:
    """One wheel from its day 0.

    Args:
        losses: in order of age, dry weighings only where there are any. tastings: in order of age.
        ended_age_d: its age when it left the book; None while it is there.
    """

    id: str
    code: str
    losses: tuple[AtAge, ...]
    tastings: tuple[Tasted, ...]
    now_age_d: float
    ended_age_d: float | None = None


def age_at(made_at: datetime, at: datetime) -> float:
    """Age in days with its fraction; negative before making."""
    return (at - made_at).total_seconds() / DAY_S


def loss_at(losses: Sequence[AtAge], age_d: float) -> float | None:
    """What a wheel had lost at an age [%], between the weighings before and after in a straight line.

    Args:
        losses: in order of age. age_d: at which age [d], 0 or more.
    Returns:
        The loss; the nearest weighing's where only one side was weighed and it lies near; None where nothing is near.
    """
    before = [point for point in losses if point.age_d <= age_d]
    after = [point for point in losses if point.age_d > age_d]
    if before and after:
        first, last = before[-1], after[0]
        share = (age_d - first.age_d) / (last.age_d - first.age_d)
        return first.value + share * (last.value - first.value)
    nearest = before[-1] if before else after[0] if after else None
    return nearest.value if nearest is not None and _is_near(nearest.age_d, age_d) else None


def tasted_at(tastings: Sequence[Tasted], age_d: float) -> Tasted | None:
    """The tasting nearest to an age, None where none is near."""
    near = [one for one in tastings if _is_near(one.age_d, age_d)]
    return min(near, key=lambda one: abs(one.age_d - age_d), default=None)


def reached(course: Course, age_d: float) -> bool:
    """Whether a wheel ever was so old."""
    return (course.now_age_d if course.ended_age_d is None else course.ended_age_d) >= age_d


def _is_near(own_d: float, age_d: float) -> bool:
    return abs(own_d - age_d) <= max(NEAR_LEAST_D, NEAR_SHARE * age_d)
