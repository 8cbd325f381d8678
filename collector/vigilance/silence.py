"""Whether probes are heard: judged by when messages arrived, against what each probe usually does or promises."""

import sqlite3
from collections.abc import Iterable
from datetime import datetime

import numpy as np

from collector.readings.coverage import USUAL_GAPS
from collector.records.columns import from_ms, to_ms
from collector.records.warnings import Subject
from collector.vigilance.findings import HOUSE, Finding, Key, Look, Probe, View
from collector.vigilance.rules import BROKER_LOST, NOTHING_HEARD, PROBE_SILENT

MISSED = 3  # so many usual intervals; our choice, the same for which a value is held
PROMISES_MISSED = 2  # one missed report is forgiven
LEAST_MS = 20 * 60_000  # our choice: a router that restarts is back by then
UNKNOWN_MS = 3 * 3_600_000  # of a probe heard too seldom to know its interval: our choice
LOOKED_AT = 400  # readings of a channel: enough for ten messages of forty readings each
LEAST_GAPS = 3
SAME_MESSAGE_MS = 2_000  # readings that arrive so close came together
OUTAGE_LEAST_MS = 30 * 60_000  # our choice: a restart of the machine is no outage worth a message
OUTAGES = (NOTHING_HEARD.name, BROKER_LOST.name)


def usual_interval_ms(arrivals_ms: Iterable[int]) -> float | None:
    """The usual time between a probe's messages: the median of its last nine gaps; None below three gaps.

    Args:
        arrivals_ms: when readings arrived, in any order; those that came together count once.
    Source: our choice, as for how long a value is held (collector/readings/coverage.py).
    """
    times = np.unique(np.fromiter(arrivals_ms, dtype=np.int64))
    gaps = np.diff(times)
    gaps = gaps[gaps > SAME_MESSAGE_MS][-USUAL_GAPS:]
    return float(np.median(gaps)) if len(gaps) >= LEAST_GAPS else None


def allowance_ms(usual_ms: float | None, at_latest_every_s: float | None) -> float:
    """How long a probe may say nothing before it counts as silent, at least twenty minutes."""
    if at_latest_every_s is not None and at_latest_every_s > 0:
        return max(LEAST_MS, PROMISES_MISSED * at_latest_every_s * 1_000)
    return UNKNOWN_MS if usual_ms is None else max(LEAST_MS, MISSED * usual_ms)


class Silence:
    """Looks for silent probes, and for all of them silent together.

    Time in which nothing could be heard (we were not running, or the broker was away) is no probe's silence: each has
    its whole allowance again after it.
    """

    def __init__(self, readings: sqlite3.Connection, started_at: datetime) -> None:
        self._readings = readings
        self._listening_ms = to_ms(started_at)
        self._heard_before: dict[str, int] | None = dict(readings.execute("SELECT name, last_ms FROM probe"))
        self._usual: dict[str, tuple[int, float | None]] = {}

    def look(self, view: View) -> Look:
        """One look; while the broker is away nothing can be judged."""
        silent_open = {key for key in view.open if key[0] == PROBE_SILENT.name}
        if not view.handed.broker_connected:
            return Look(kept=frozenset({*silent_open, (NOTHING_HEARD.name, HOUSE)}))
        if view.handed.broker_since_at is not None:
            self._listening_ms = max(self._listening_ms, to_ms(view.handed.broker_since_at))
        together = self._nothing_heard(view)
        if together is not None:
            return Look((together,), frozenset(silent_open))
        ended = self._back_together(view)
        away = self._was_away(view)
        silent = tuple(self._finding(probe) for probe in view.probes.values() if self._is_silent(view, probe))
        return Look((*silent, *away), ended=ended | self._back(view, silent_open))

    def _is_silent(self, view: View, probe: Probe) -> bool:
        subject = Subject(probe=probe.name)
        before = view.open.get((PROBE_SILENT.name, subject))
        if before is not None:
            return probe.last_ms <= int(before.facts.get("since_ms", to_ms(before.opened_at)))
        return self._is_overdue(view, probe)

    def _is_overdue(self, view: View, probe: Probe) -> bool:
        waited_ms = to_ms(view.now) - max(probe.last_ms, self._listening_ms)
        return waited_ms > LEAST_MS and waited_ms > self._allowance_ms(probe)

    def _allowance_ms(self, probe: Probe) -> float:
        return allowance_ms(self._usual_ms(probe), probe.at_latest_every_s)

    def _usual_ms(self, probe: Probe) -> float | None:
        """The usual interval up to the last message; looked up only for probes that are late."""
        known = self._usual.get(probe.name)
        if known is None or known[0] != probe.last_ms:
            known = (probe.last_ms, usual_interval_ms(self._arrivals(probe.name)))
            self._usual[probe.name] = known
        return known[1]

    def _arrivals(self, name: str) -> list[int]:
        numbers = self._readings.execute("SELECT id FROM channel WHERE probe=?", (name,)).fetchall()
        query = "SELECT taken_ms+lag_ms FROM reading WHERE channel=? ORDER BY taken_ms DESC LIMIT ?"
        return [row[0] for (number,) in numbers for row in self._readings.execute(query, (number, LOOKED_AT))]

    def _finding(self, probe: Probe) -> Finding:
        usual_ms = self._usual_ms(probe)
        usual_s = probe.at_latest_every_s or (usual_ms / 1_000 if usual_ms else None)
        facts = {"since_ms": probe.last_ms, "usual_s": usual_s}
        return Finding(PROBE_SILENT, from_ms(probe.last_ms), Subject(probe=probe.name), facts)

    def _nothing_heard(self, view: View) -> Finding | None:
        """Two probes and more are overdue, and nobody has spoken since the last of them."""
        if not view.probes:
            return None
        last_ms = max(probe.last_ms for probe in view.probes.values())
        before = view.open.get((NOTHING_HEARD.name, HOUSE))
        if before is not None:
            still = last_ms <= int(before.facts.get("since_ms", 0))
            return Finding(NOTHING_HEARD, before.opened_at, facts=before.facts) if still else None
        known_silent = {key[1].probe for key in view.open if key[0] == PROBE_SILENT.name}
        others = [probe for probe in view.probes.values() if probe.name not in known_silent]
        overdue = [probe for probe in others if self._is_overdue(view, probe)]
        if len(overdue) < 2 or last_ms > max(probe.last_ms for probe in overdue):
            return None
        facts = {"since_ms": last_ms, "probes": len(view.probes)}
        return Finding(NOTHING_HEARD, from_ms(last_ms), facts=facts)

    def _back_together(self, view: View) -> dict[Key, tuple[datetime, dict[str, object]]]:
        before = view.open.get((NOTHING_HEARD.name, HOUSE))
        if before is None or not view.probes:
            return {}
        since_ms = int(before.facts.get("since_ms", 0))
        heard_ms = min(probe.last_ms for probe in view.probes.values() if probe.last_ms > since_ms)
        self._listening_ms = max(self._listening_ms, heard_ms)
        return {(before.rule, HOUSE): (from_ms(heard_ms), {"gap_from_ms": since_ms, "gap_to_ms": heard_ms})}

    def _back(self, view: View, silent_open: Iterable[Key]) -> dict[Key, tuple[datetime, dict[str, object]]]:
        """Silent probes that spoke again, from their message on; one taken away or unplaced ends now."""
        heard = {key: view.probes.get(key[1].probe or "") for key in silent_open}
        return {key: (from_ms(probe.last_ms), {}) for key, probe in heard.items() if probe is not None}

    def _was_away(self, view: View) -> tuple[Finding, ...]:
        """Once after the start: whether nothing was heard for long before the first message that came since."""
        known = self._heard_before or {}
        before = [known[name] for name in view.probes if name in known]
        since = [probe.last_ms for probe in view.probes.values() if before and probe.last_ms > max(before)]
        if not since:
            return ()
        self._heard_before = None
        away_from, away_to = max(before), min(since)
        shortest = min(self._allowance_ms(probe) for probe in view.probes.values())
        if away_to - away_from < max(OUTAGE_LEAST_MS, shortest) or any(key[0] in OUTAGES for key in view.open):
            return ()
        facts = {"since_ms": away_from, "gap_from_ms": away_from, "gap_to_ms": away_to, "probes": len(view.probes)}
        return (Finding(NOTHING_HEARD, from_ms(away_from), facts=facts, over_at=from_ms(away_to)),)
