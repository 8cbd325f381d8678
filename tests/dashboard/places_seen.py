"""Builders of what pages about places see; the values are invented."""

from datetime import timedelta
from typing import Any

from collector.readings.model import Arrival, Mark, Sample
from collector.records.columns import to_ms
from collector.records.facts import Target
from dashboard.warnings.told import Told
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.dairy import LONG_AGO


def a_told(word: str = "too damp", hours_ago: float = 5, state: str = "watch", says: tuple[str, ...] = ()) -> Told:
    """An open warning in words."""
    return Told(
        id="w", subject="Cellar", subject_path="/caves/c", chart_path="", state=state, word=word, says=says,
        since_at=NOW_AT - timedelta(hours=hours_ago), until_at=None, is_open=True, remark="", stands_in="", likely=(),
        first=(), seen_at=None, seen_by="", judged="", judged_by="", rule=word.replace(" ", "_"),
    )  # fmt: skip


def a_target_value(**more: Any) -> Target:
    """A target as a value: 10 to 14 degC, 82 to 92 %."""
    values: dict[str, Any] = {
        "temperature_low_c": 10.0, "temperature_high_c": 14.0, "humidity_low_pct": 82.0, "humidity_high_pct": 92.0,
    }  # fmt: skip
    return Target("t", LONG_AGO, LONG_AGO, "c", **{**values, **more})


def messages(
    probe: str = "cellar-1",
    temperature_c: float | None = 12.0,
    humidity_pct: float | None = 88.0,
    hours: float = 25,
    until_min_ago: float = 1,
    every_min: float = 10,
) -> list[Arrival]:
    """Messages of a probe up to some minutes before now; its air keeps still."""
    end, count = to_ms(NOW_AT - timedelta(minutes=until_min_ago)), int(hours * 60 / every_min)
    return [
        a_message(probe, end - int(i * every_min * 60_000), temperature_c, humidity_pct) for i in range(count, -1, -1)
    ]


def a_message(
    probe: str, taken_ms: int, temperature_c: float | None = 12.0, humidity_pct: float | None = 88.0, **more: Any
) -> Arrival:
    samples = [
        Sample(field, taken_ms, value, unit, field, more.get("mark", Mark.NONE))
        for field, value, unit in (("temperature", temperature_c, "Cel"), ("humidity", humidity_pct, "%RH"))
        if value is not None
    ]
    return Arrival(probe, f"rindwatch/{probe}/readings", taken_ms, tuple(samples))
