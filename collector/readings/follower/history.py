"""Readings and rollups that are no longer kept here, read from the follower's database."""

import logging
import threading
import time
from collections.abc import Callable, Iterator

import numpy as np

from collector.errors import FollowerTrouble, OlderUnavailable
from collector.readings.follower.points import READING, TEN_MINUTES, first_question, question, tags
from collector.readings.follower.server import InfluxServer
from collector.readings.follower.settings import FollowerSettings, read_follower_settings
from collector.readings.model import Channel, Millis, Rollups, Series

log = logging.getLogger(__name__)

ANSWER_MS = 15_000  # a person waits for the page: our choice
PIECE_MS = 31 * 86_400_000  # asked for at once, so that an answer stays small
FIRST_FOR_S = 3_600  # where a channel's history begins is not asked again so soon: our choice
QUIET_S = 30  # after a failure: our choice
NOTHING_MS = 1 << 60
LOOK_BACK_MS = 6 * 3_600_000  # where the readings before a span are looked for: our choice
UNIT_STARTS_AT = 1_000_000  # numbers of units that only the far database knows


def far_history() -> "InfluxHistory | None":
    """The history that the settings name, if they do.

    Raises:
        SettingsWrong: a setting that cannot be.
    """
    settings = read_follower_settings()
    return InfluxHistory(settings) if settings.is_on and settings.influx_history else None


class InfluxHistory:
    """Answers for what was before the local readings begin; used by several threads."""

    def __init__(self, settings: FollowerSettings) -> None:
        self._settings = settings
        self._server = InfluxServer(settings, ANSWER_MS)
        self._lock = threading.Lock()
        self._shut_until, self._trouble = 0.0, ""
        self._begins: dict[tuple[str, int], tuple[int, float]] = {}

    def readings(self, channel: Channel, from_ms: int, to_ms: int, units: dict[int, str], before: int = 0) -> Series:
        """Raw readings with from <= taken < to, and so many before them as there are within some hours.

        Raises:
            OlderUnavailable: they cannot be had now.
        """
        begin_ms = from_ms - LOOK_BACK_MS if before else from_ms
        numbers = _Numbers(units)
        rows = self._rows(READING, channel, begin_ms, to_ms)
        found = Series(
            _ints(rows, _taken_ms),
            np.array([float(row["value"]) for row in rows], dtype=float),
            _ints(rows, lambda row: numbers.of(row["unit"])),
            _ints(rows, lambda row: int(row["mark"])),
            numbers.codes,
        )
        first = max(0, int(np.searchsorted(found.taken_ms, from_ms)) - before)
        return Series(found.taken_ms[first:], found.value[first:], found.unit[first:], found.mark[first:], found.units)

    def rollups(self, channel: Channel, from_ms: int, to_ms: int, units: dict[int, str]) -> Rollups:
        """Ten-minute rollups with from <= start < to.

        Raises:
            OlderUnavailable: they cannot be had now.
        """
        numbers = _Numbers(units)
        rows = self._rows(TEN_MINUTES, channel, from_ms, to_ms)
        low, high, mean = (
            np.array([float(row[name]) for row in rows], dtype=float) for name in ("low", "high", "mean")
        )
        # Points from before it was copied have none: the column is empty then, or not there at all.
        spread = np.array([float(row.get("spread") or "nan") for row in rows], dtype=float)
        return Rollups(
            _ints(rows, _taken_ms), _ints(rows, lambda row: numbers.of(row["unit"])),
            _ints(rows, lambda row: int(row["count"])), low, high, mean,
            _ints(rows, lambda row: int(row["covered_ms"])), spread, numbers.codes,
        )  # fmt: skip

    def _rows(self, measurement: str, channel: Channel, from_ms: int, to_ms: int) -> list[dict[str, str]]:
        with self._lock:  # the library's client is not said to be safe between threads
            if time.monotonic() < self._shut_until:
                raise OlderUnavailable(self._trouble)
            try:
                return list(self._asked(measurement, channel, from_ms, to_ms))
            except FollowerTrouble as error:
                # The next pages must not wait for the same silence.
                self._shut_until, self._trouble = time.monotonic() + QUIET_S, str(error)
                log.warning("older_readings_unavailable reason=%s", error)
                raise OlderUnavailable(str(error)) from error

    def _asked(self, measurement: str, channel: Channel, from_ms: int, to_ms: int) -> Iterator[dict[str, str]]:
        begin_ms = max(from_ms, self._first_ms(measurement, channel))
        for start in range(begin_ms, to_ms, PIECE_MS):
            end = min(start + PIECE_MS, to_ms)
            yield from self._server.rows(question(self._settings.influx_bucket, measurement, tags(channel), start, end))

    def _first_ms(self, measurement: str, channel: Channel) -> int:
        """When the far history of a channel begins, asked now and then, so that nothing before it is asked for."""
        key = (measurement, channel.id)
        known_ms, until = self._begins.get(key, (0, 0.0))
        if time.monotonic() < until:
            return known_ms
        rows = list(self._server.rows(first_question(self._settings.influx_bucket, measurement, tags(channel))))
        first_ms = min((_taken_ms(row) for row in rows), default=NOTHING_MS)
        self._begins[key] = (first_ms, time.monotonic() + FIRST_FOR_S)
        return first_ms


class _Numbers:
    """Numbers of units: those of the local registry, and new ones for codes that it does not know."""

    def __init__(self, units: dict[int, str]) -> None:
        self.codes = dict(units)
        self._by_code = {code: number for number, code in units.items()}

    def of(self, code: str) -> int:
        number = self._by_code.get(code)
        if number is None:
            number = self._by_code[code] = UNIT_STARTS_AT + len(self._by_code)
            self.codes[number] = code
        return number


def _taken_ms(row: dict[str, str]) -> int:
    """The time of a row in ms; the database writes RFC 3339 with as many digits as it needs."""
    return int(np.datetime64(row["_time"].removesuffix("Z"), "ms").astype(np.int64))


def _ints(rows: list[dict[str, str]], of: Callable[[dict[str, str]], int]) -> Millis:
    return np.array([of(row) for row in rows], dtype=np.int64)
