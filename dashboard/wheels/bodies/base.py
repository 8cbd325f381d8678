"""What every entry's body shares, and the ranges of what can stand in one.

Ranges are our choice: the widest value that could still be true of a cheese, so that a slip of the finger is refused
and a strange truth is not. Weights are grams, temperatures degC, volumes litres, times aware.
"""

from datetime import UTC, datetime
from typing import Annotated, Any

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field

ID_PATTERN = r"^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$"
V7_PATTERN = r"^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$"  # RFC 9562, section 5.7

Ref = Annotated[str, Field(pattern=ID_PATTERN)]
NewId = Annotated[str, Field(pattern=V7_PATTERN)]
Name = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]{0,39}$")]
Words = Annotated[str, Field(max_length=120)]
Text = Annotated[str, Field(max_length=4_000)]
# A phone whose clock was reset shows 1970. Nothing real is outside these, and a time at the end of what a computer can
# count to could not be moved to another zone.
FIRST_AT, LAST_AT = datetime(1900, 1, 1, tzinfo=UTC), datetime(2200, 1, 1, tzinfo=UTC)
At = Annotated[AwareDatetime, Field(ge=FIRST_AT, lt=LAST_AT)]

MAX_WHEEL_G = 200_000
MIN_WEIGHT_G = 1

WeightG = Annotated[float, Field(ge=MIN_WEIGHT_G, le=MAX_WHEEL_G)]
TareG = Annotated[float, Field(ge=0, le=50_000)]
TakenG = Annotated[float, Field(gt=0, le=MAX_WHEEL_G)]
TemperatureC = Annotated[float, Field(ge=-30, le=130)]
Percent = Annotated[float, Field(ge=0, le=100)]
Ph = Annotated[float, Field(ge=2, le=10)]
Litres = Annotated[float, Field(gt=0, le=100_000)]
Hours = Annotated[float, Field(ge=0, le=2_000)]
Minutes = Annotated[float, Field(ge=0, le=20_000)]
Millimetres = Annotated[float, Field(gt=0, le=2_000)]
Days = Annotated[int, Field(ge=0, le=10_000)]
Pieces = Annotated[int, Field(ge=1, le=10_000)]
Scale5 = Annotated[int, Field(ge=1, le=5)]


class Part(BaseModel):
    """A piece of a body."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class Body(Part):
    """The body of an entry: every one may carry words and photos."""

    def model_post_init(self, context: Any, /) -> None:  # noqa: ARG002
        # The kind is what says which form the others have, so it is never left out for being the usual one.
        self.model_fields_set.add("kind")

    text: Text = ""
    photos: Annotated[tuple[Ref, ...], Field(max_length=24)] = ()
