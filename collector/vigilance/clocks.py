"""Whether this machine's clock can be believed, and the probes'."""

import re
import sqlite3
import statistics
import time
from collections import defaultdict
from collections.abc import Callable
from datetime import timedelta

from collector.records.columns import to_ms
from collector.records.warnings import Subject
from collector.vigilance.findings import Finding, Look, View
from collector.vigilance.rules import CLOCK_ASTRAY, PROBE_CLOCK

JUMP_S = 60.0  # our choice: network time mends less by itself and without harm
AFTER_START = timedelta(minutes=10)  # a machine without a clock battery is set right in this time, and that is well
BEHIND_S = 600.0  # as much as a reading from the future is forgiven
LOOKED_BACK = timedelta(minutes=30)
AHEAD = re.compile(r"(\d+) min after it arrived")  # as the intake words it when it sets a reading aside


def steady_s() -> float:
    """Seconds on a clock that nobody sets, sleeping included where the system can tell."""
    if hasattr(time, "CLOCK_BOOTTIME"):
        return time.clock_gettime(time.CLOCK_BOOTTIME)
    return time.monotonic()


class Clocks:
    """Looks for jumps of our clock, for a clock that is behind, and for probes ahead of it."""

    def __init__(self, readings: sqlite3.Connection, steady: Callable[[], float] = steady_s) -> None:
        self._readings, self._steady = readings, steady
        self._last: tuple[float, float] | None = None
        self._began: float | None = None
        self._set_back = False

    def look(self, view: View) -> Look:
        found = [*self._jump(view)]
        ahead = self._ahead(view)
        behind_s = self._behind_s(view, ahead)
        if behind_s is not None:
            facts = {"kind": "behind", "by_s": behind_s}
            return Look((*found, Finding(CLOCK_ASTRAY, view.now, facts=facts)), kept=self._open_probes(view))
        found += [Finding(PROBE_CLOCK, view.now, Subject(probe=name), {"by_s": by_s}) for name, by_s in ahead.items()]
        return Look(tuple(found))

    def _open_probes(self, view: View) -> frozenset[tuple[str, Subject]]:
        return frozenset(key for key in view.open if key[0] == PROBE_CLOCK.name)

    def _jump(self, view: View) -> list[Finding]:
        """A step of our clock against the steady one since the last look."""
        wall, steady = view.now.timestamp(), self._steady()
        last, self._last = self._last, (wall, steady)
        self._began = steady if self._began is None else self._began
        if last is None:
            return []
        by_s = (wall - last[0]) - (steady - last[1])
        if abs(by_s) < JUMP_S:
            return []
        self._set_back = self._set_back or by_s < 0
        just_started = by_s > 0 and steady - self._began < AFTER_START.total_seconds()
        facts = {"kind": "jump", "by_s": round(by_s, 1), "at_ms": to_ms(view.now), "since_ms": to_ms(view.now)}
        severity = "note" if just_started else None
        return [Finding(CLOCK_ASTRAY, view.now, facts=facts, over_at=view.now, severity=severity)]

    def _behind_s(self, view: View, ahead: dict[str, float]) -> float | None:
        """How far our clock is behind: a message has come in what is now the future, or most probes seem ahead.

        After we saw it being set back, messages in the future only tell that it was ahead before.
        """
        newest_ms = max((probe.last_ms for probe in view.probes.values()), default=0)
        by_s = (newest_ms - to_ms(view.now)) / 1_000
        if by_s > BEHIND_S and not self._set_back:
            return round(by_s)
        recent = [p for p in view.probes.values() if p.last_ms > to_ms(view.now - LOOKED_BACK)]
        if len(ahead) >= 2 and 2 * len(ahead) >= len(recent):
            return round(statistics.median(ahead.values()))
        return None

    def _ahead(self, view: View) -> dict[str, float]:
        """Placed probes whose readings were set aside lately because they come from the future, and by how much [s]."""
        by_topic = {probe.topic: probe.name for probe in view.probes.values()}
        rows = self._readings.execute(
            "SELECT topic, reason FROM reject WHERE last_ms>? AND reason LIKE '%after it arrived%'",
            (to_ms(view.now - LOOKED_BACK),),
        )
        found: dict[str, list[float]] = defaultdict(list)
        for topic, reason in rows:
            told = AHEAD.search(reason)
            if told is not None and topic in by_topic:
                found[by_topic[topic]].append(60.0 * int(told[1]))
        return {name: statistics.median(values) for name, values in found.items()}
