"""What the API answers: times in UTC, values in SI units, a gap as null."""

from typing import Annotated, Any, Literal

from fastapi import HTTPException, Query
from pydantic import AwareDatetime, BaseModel, ConfigDict

from collector.records.columns import to_ms
from dashboard.errors_shown import Trouble

DAY_MS = 86_400_000
From = Annotated[AwareDatetime, Query(alias="from", description="beginning, like 2026-03-12T00:00:00Z")]
To = Annotated[AwareDatetime, Query(alias="to", description="end, not included")]
Numbers = list[float | None]
OriginName = Literal["lead", "median", "typed", "parent", "assumed", "unknown"]
RoleName = Literal["temperature", "humidity", "surface"]


class Shape(BaseModel):
    """A part of an answer."""

    model_config = ConfigDict(frozen=True)


class Said(Shape):
    """What went wrong, and what to do."""

    what: str
    hint: str


class Refusal(Shape):
    """Every error of the API."""

    error: Said


class TargetOut(Shape):
    """The air that a place should have now; a resting place has none."""

    valid_from_at: AwareDatetime
    resting: bool
    temperature_low_c: float | None
    temperature_high_c: float | None
    humidity_low_pct: float | None
    humidity_high_pct: float | None
    grace_min: int


class PlaceOut(Shape):
    """A place."""

    id: str
    name: str
    kind: str
    parent_id: str | None
    position: int
    closed_at: AwareDatetime | None
    target: TargetOut | None


class ValueOut(Shape):
    """One quantity now: `uncertainty` is standard (k = 1), `origin` where the value comes from."""

    value: float
    uncertainty: float | None
    origin: OriginName
    probes: list[str]
    taken_at: AwareDatetime | None


class AirNowOut(Shape):
    """The air of a place at this moment, and its state in words."""

    place_id: str
    at: AwareDatetime
    state: Literal["good", "watch", "bad", "unknown"]
    headline: str
    suffers: str
    temperature_c: ValueOut | None
    humidity_pct: ValueOut | None
    surface_c: ValueOut | None
    dew_point_c: float | None


class CourseOut(Shape):
    """One quantity step by step; `known` is the share of the step that readings speak for."""

    mean: Numbers
    low: Numbers
    high: Numbers
    known: list[float]
    uncertainty: Numbers
    origin: list[OriginName]


class AirOut(Shape):
    """The air of a place; step i begins i times step_s after start_at."""

    place_id: str
    start_at: AwareDatetime
    step_s: int
    temperature_c: CourseOut
    humidity_pct: CourseOut
    surface_c: CourseOut | None
    dew_point_c: Numbers
    sources: list[str]


class LineOut(Shape):
    """The calibrated readings of one probe in a place; a doubtful one is left out of the air."""

    probe: str
    role: RoleName
    unit: str
    taken_at: list[AwareDatetime]
    value: list[float]
    doubtful: list[bool]


class RawAirOut(Shape):
    """The readings that the air of a place is made of."""

    place_id: str
    lines: list[LineOut]


class LastReading(Shape):
    """The newest reading, as sent."""

    taken_at: AwareDatetime
    value: float
    unit: str


class ChannelOut(Shape):
    """One quantity from one probe."""

    id: int
    probe: str
    field: str
    quantity: str | None
    unit: str
    last: LastReading | None


class ProbeOut(Shape):
    """A probe, where it is now, and its channels; `called` is the name that people gave it."""

    name: str
    called: str
    topic: str
    first_heard_at: AwareDatetime
    last_heard_at: AwareDatetime
    messages: int
    state: str
    place_id: str | None
    channels: list[ChannelOut]


class ReadingsOut(Shape):
    """Readings of a channel as sent, and calibrated in `quantity_unit` where it is known what they measure."""

    channel: ChannelOut
    quantity_unit: str | None
    taken_at: list[AwareDatetime]
    as_sent: list[float]
    unit_as_sent: list[str]
    value: Numbers
    doubtful: list[bool]


class Refused(Shape):
    """A value that cannot be, and why."""

    field: str
    reason: str


class HandedIn(Shape):
    """What was understood of a message; `taken` counts readings."""

    probe: str
    taken: int
    refused: list[Refused]


class WarningOut(Shape):
    """A warning; `facts` are plain values that differ by rule."""

    id: str
    rule: str
    word: str
    severity: Literal["note", "warn", "urgent"]
    place_id: str | None
    probe: str | None
    field: str | None
    since_at: AwareDatetime
    opened_at: AwareDatetime
    found_at: AwareDatetime
    cleared_at: AwareDatetime | None
    found_late: bool
    seen_at: AwareDatetime | None
    seen_by: str | None
    judged: Literal["right", "false"] | None
    judged_by: str | None
    facts: dict[str, Any]


ERRORS: dict[int | str, dict[str, Any]] = {
    400: {"model": Refusal, "description": "The request could not be read, or names another machine."},
    401: {"model": Refusal, "description": "Nobody is signed in, or the token is none of ours."},
    403: {"model": Refusal, "description": "This person or token may not do that."},
    404: {"model": Refusal, "description": "There is no such thing."},
    422: {"model": Refusal, "description": "The question was not understood."},
    503: {"model": Refusal, "description": "Nothing can be read just now."},
}
TOO_MUCH: dict[int | str, dict[str, Any]] = {413: {"model": Refusal, "description": "Too much at once."}}
CSV_ANSWER: dict[int | str, dict[str, Any]] = {200: {"content": {"text/csv": {"schema": {"type": "string"}}}}}


def span_ms(from_at: AwareDatetime, to_at: AwareDatetime, most_days: int | None = None) -> tuple[int, int]:
    """The span that is asked for [ms].

    Raises:
        HTTPException: it ends before it begins, or is longer than is answered at once.
    """
    start, end = to_ms(from_at), to_ms(to_at)
    if end <= start:
        raise HTTPException(422, Trouble(422, "to must lie after from.", "Swap them, or leave a span between them."))
    if most_days is not None and end - start > most_days * DAY_MS:
        got = f"{(end - start) / DAY_MS:.4g}"
        hint = "Ask for shorter spans one after the other, or take the CSV, which has no limit."
        raise HTTPException(422, Trouble(422, f"from and to may be {most_days} days apart, got {got}.", hint))
    return start, end
