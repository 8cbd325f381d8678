"""The state of a place in words: all right or not, for whom, and where it is heading; pure.

The same words stand on the card of the caves, on the round and beside a wheel.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal, Protocol

from collector.records.facts import Target
from dashboard.household import Household
from dashboard.whom import Group, complaints, joined, limits_of, suffers_from, who_suffers
from dashboard.words import duration, moment

State = Literal["good", "watch", "bad", "unknown"]
LOUDNESS: tuple[State, ...] = ("good", "unknown", "watch", "bad")


class Problem(Protocol):
    """An open warning in words, as `dashboard.warnings.told` makes it."""

    @property
    def word(self) -> str: ...
    @property
    def state(self) -> str: ...
    @property
    def since_at(self) -> datetime: ...
    @property
    def says(self) -> tuple[str, ...]: ...


@dataclass(frozen=True, slots=True)
class Silence:
    """Nothing is known of the place now: since when (None: nothing ever came), and what is missing.

    `kind` is probe, typed, doubted or nothing.
    """

    kind: Literal["probe", "probes", "typed", "doubted", "nothing"]
    since_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Situation:
    """What is known of a place.

    Args:
        temperature_c, humidity_pct: mean of the last hour, None where it is unknown.
        humidity_u_pct: how far off the humidity may be [points].
        measured: these were measured in the place itself.
        silence: set when nothing is known now.
        target: what is asked now, None where nobody ever said.
        air: open warnings about its air.
        is_outside: nothing is asked of the air outside.
        groups: the wheels that stand there.
    """

    now_at: datetime
    temperature_c: float | None = None
    humidity_pct: float | None = None
    humidity_u_pct: float = 0.0
    measured: bool = True
    silence: Silence | None = None
    target: Target | None = None
    air: Sequence[Problem] = ()
    is_outside: bool = False
    groups: Sequence[Group] = ()


@dataclass(frozen=True, slots=True)
class PlaceView:
    """The answer: a state of parts/cards.html, one line, for whom, and where it is heading; "" for nothing to say."""

    state: State
    headline: str
    suffers: str = ""
    heading: str = ""


def view(seen: Situation, household: Household) -> PlaceView:
    """The state of a place in words.

    Args:
        seen: what is known of it. household: how times are written.
    """
    suffers = who_suffers(seen.groups, seen.temperature_c, seen.humidity_pct, seen.humidity_u_pct)
    if seen.silence is not None:
        return _silent(seen, seen.silence, household)
    if seen.air:
        return PlaceView(_loudest(seen.air), _problems(seen), suffers, _heading(seen.air))
    if seen.is_outside:
        return PlaceView("good", "")
    if not seen.measured:
        return PlaceView("unknown", "Not measured here", suffers)
    if seen.target is not None and seen.target.resting:
        return PlaceView("unknown", "Resting: nothing is asked of its air")
    asked = limits_of(seen.target)
    if asked is None:
        state: State = "unknown" if not suffers else "watch" if _somebody_suffers(seen) else "good"
        return PlaceView(state, "No target yet", suffers)
    out = complaints(asked, seen.temperature_c, seen.humidity_pct)
    if out:
        grace = duration(seen.target.grace_min * 60) if seen.target else ""
        return PlaceView("watch", f"{joined(out).capitalize()} just now", suffers, f"A warning comes after {grace}.")
    if _somebody_suffers(seen):
        return PlaceView("watch", "Within its target, not right for all its wheels", suffers)
    return PlaceView("good", "All right", suffers)


def _somebody_suffers(seen: Situation) -> bool:
    return any(suffers_from(group, seen.temperature_c, seen.humidity_pct, seen.humidity_u_pct) for group in seen.groups)


def _silent(seen: Situation, silence: Silence, household: Household) -> PlaceView:
    since = f" since {moment(silence.since_at, seen.now_at, household)}" if silence.since_at else ""
    said = {
        "probe": f"No word from the probe{since}",
        "probes": f"No word from the probes{since}",
        "typed": f"Nothing typed{since}",
        "doubted": f"The probe cannot be believed{since}",
        "nothing": "Nothing is measured here yet",
    }[silence.kind]
    before = f"Before that: {_problems(seen).lower()}." if seen.air else ""
    state: State = "bad" if _loudest(seen.air) == "bad" else "unknown"
    return PlaceView(state, said, heading=before)


def _loudest(problems: Sequence[Problem]) -> State:
    found: State = "good"
    for problem in problems:
        state: State = "bad" if problem.state == "bad" else "watch"
        found = max(found, state, key=LOUDNESS.index)
    return found


def _problems(seen: Situation) -> str:
    """The open problems in one line, the loudest first."""
    ordered = sorted(seen.air, key=lambda one: (-LOUDNESS.index(_loudest([one])), one.since_at))
    parts = [f"{one.word} for {duration((seen.now_at - one.since_at).total_seconds())}" for one in ordered]
    text = ", ".join(parts)
    return text[:1].upper() + text[1:]


def _heading(problems: Sequence[Problem]) -> str:
    """Where the loudest problem is heading, as its warning says it after how far it is."""
    first = max(problems, key=lambda one: LOUDNESS.index(_loudest([one])))
    return first.says[1] if len(first.says) > 1 else ""
