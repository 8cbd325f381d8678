"""How much time a chart shows, from an hour to all of it, and how finely; pure."""

from dataclasses import dataclass

from collector.air.model import STEP_MS

HOUR_MS = 3_600_000
DAY_MS = 24 * HOUR_MS
POINTS = 1_000  # of one line: more cannot be told apart on a phone
RAW_UP_TO_MS = 26 * HOUR_MS  # a day of one-minute readings, and the long day of the change of clocks


@dataclass(frozen=True, slots=True)
class Span:
    """A choice of how much is shown; length_ms None shows everything."""

    name: str
    word: str
    length_ms: int | None


SPANS: dict[str, Span] = {
    span.name: span
    for span in (
        Span("hour", "hour", HOUR_MS),
        Span("day", "day", DAY_MS),
        Span("week", "week", 7 * DAY_MS),
        Span("month", "month", 30 * DAY_MS),
        Span("season", "season", 91 * DAY_MS),
        Span("year", "year", 365 * DAY_MS),
        Span("all", "all", None),
    )
}


@dataclass(frozen=True, slots=True)
class Window:
    """The stretch of time that a chart shows.

    Args:
        span: name of the span, "" for a stretch that somebody linked to.
        from_ms, to_ms: its ends [ms since 1970 UTC], from < to.
        live: it ends now and moves on.
    """

    span: str
    from_ms: int
    to_ms: int
    live: bool

    @property
    def length_ms(self) -> int:
        return self.to_ms - self.from_ms

    @property
    def bucket_ms(self) -> int:
        """Width of what one point of a line stands for: whole ten-minute steps, at most `POINTS` of them."""
        return max(1, -(-self.length_ms // (POINTS * STEP_MS))) * STEP_MS

    @property
    def start_ms(self) -> int:
        """Where the first bucket begins: not later than the window, and the same for every window of this width."""
        return self.from_ms // self.bucket_ms * self.bucket_ms

    @property
    def is_short(self) -> bool:
        """True where the readings themselves can be drawn."""
        return self.length_ms <= RAW_UP_TO_MS


def window(span: str, now_ms: int, first_ms: int, to_ms: int | None = None) -> Window:
    """The stretch of a span.

    Args:
        span: a name of `SPANS`. now_ms: what "now" is. first_ms: the first reading of all, for the span "all".
        to_ms: where it ends; None, or a time that is not past yet: now.
    Raises:
        KeyError: a span that the table does not hold.
    """
    length = SPANS[span].length_ms
    live = length is None or to_ms is None or to_ms >= now_ms
    end = now_ms if live or to_ms is None else to_ms
    if length is None:
        return Window(span, min(first_ms, now_ms - DAY_MS), now_ms, True)
    return Window(span, end - length, end, live)


def linked(from_ms: int, to_ms: int, now_ms: int) -> Window:
    """A stretch that somebody linked to.

    Raises:
        ValueError: it ends before it begins, or is shorter than a step.
    """
    if to_ms - from_ms < STEP_MS:
        raise ValueError(f"a stretch must be at least ten minutes long, got {(to_ms - from_ms) / 60_000:g} min")
    return Window("", from_ms, to_ms, to_ms >= now_ms)


def earlier(shown: Window) -> int | None:
    """Where the window before this one ends; None before everything."""
    return None if shown.span == "all" else shown.from_ms


def later(shown: Window, now_ms: int) -> int | None:
    """Where the window after this one ends, None when this one is the newest."""
    return None if shown.live or shown.span == "all" else min(shown.to_ms + shown.length_ms, now_ms)
