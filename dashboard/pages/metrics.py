"""The house in numbers, in the OpenMetrics text format, for whoever watches machines.

Whoever is signed in may look; a program shows the token of the settings' file, since it cannot sign in.
"""

import hmac
from collections.abc import Iterator
from typing import TYPE_CHECKING

from fastapi import APIRouter
from starlette.responses import Response

from collector.measured import Measure, measures
from collector.settings import read_secret
from dashboard.errors_shown import Trouble, show
from dashboard.visit import NOBODY, Anyone, Visit

if TYPE_CHECKING:
    from prometheus_client.metrics_core import Metric

router = APIRouter()
PREFIX = "rindwatch_"
NOT_YOURS = Trouble(401, "Sign in first.", "A program shows the token of RINDWATCH_METRICS_TOKEN_FILE.")


@router.get("/metrics")
def metrics(visit: Anyone) -> Response:
    """Counts, ages and lags of the whole house."""
    if visit.person is NOBODY and not _shows_the_token(visit):
        return show(visit.request, NOT_YOURS)
    # Loaded at the first asking: most houses never ask.
    from prometheus_client import CollectorRegistry
    from prometheus_client.openmetrics.exposition import CONTENT_TYPE_LATEST, generate_latest

    db = visit.readings.db if visit.readings else None
    with visit.looking() as records:
        found = list(measures(db, records, visit.now_at))
    registry = CollectorRegistry(auto_describe=False)
    registry.register(_Told(found))
    text: bytes = generate_latest(registry)  # type: ignore[no-untyped-call]
    return Response(text, media_type=CONTENT_TYPE_LATEST, headers={"Cache-Control": "no-store"})


class _Told:
    """What was measured, as the library likes to be told."""

    def __init__(self, found: list[Measure]) -> None:
        self._found = [measure for measure in found if measure.value is not None]

    def collect(self) -> "Iterator[Metric]":
        from prometheus_client.core import CounterMetricFamily, GaugeMetricFamily

        families = {"counter": CounterMetricFamily, "gauge": GaugeMetricFamily}
        by_name: dict[str, Metric] = {}
        for measure in self._found:
            labels = dict(measure.labels or {})
            name = PREFIX + measure.name
            if name not in by_name:
                by_name[name] = families[measure.kind](name, measure.about, labels=list(labels))
            by_name[name].add_metric(list(labels.values()), float(measure.value or 0))  # type: ignore[attr-defined]
        yield from by_name.values()


def _shows_the_token(visit: Visit) -> bool:
    wanted = read_secret(visit.house.own.metrics_token_file, "RINDWATCH_METRICS_TOKEN_FILE")
    kind, _, shown = visit.request.headers.get("authorization", "").partition(" ")
    if wanted is None or not wanted.get_secret_value() or kind.lower() != "bearer":
        return False
    return hmac.compare_digest(shown.strip().encode(), wanted.get_secret_value().encode())
