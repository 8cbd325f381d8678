"""Readings that a program hands in over HTTP: the same payloads as over MQTT, understood and kept the same way."""

from typing import Annotated

from fastapi import APIRouter, Depends, HTTPException
from fastapi import Path as InPath

from collector.errors import EntryRefused, ReadingRejected
from collector.handed import TooManyWait, hand_in
from collector.intake.payloads import decode
from collector.intake.payloads.envelope import PAYLOAD_LIMIT
from collector.intake.timing import Passage, arrival
from collector.readings.model import Arrival
from collector.records.columns import to_ms
from dashboard.api.access import ApiWriter, token_of
from dashboard.api.entries import whole_body
from dashboard.api.shapes import ERRORS, TOO_MUCH, HandedIn, Refused
from dashboard.errors_shown import Trouble
from dashboard.people.tokens import LONGEST_PROBE, check_probe

router = APIRouter(tags=["readings"], responses={**ERRORS, **TOO_MUCH})
ProbeName = Annotated[str, InPath(max_length=LONGEST_PROBE, description="the probe's name, as on its topic")]
BODY = {
    "required": True,
    "content": {"application/senml+json": {}, "application/senml+cbor": {}, "application/json": {}},
}


@router.post(
    "/probes/{probe}/readings",
    status_code=202,
    max_body_size=PAYLOAD_LIMIT,
    openapi_extra={"requestBody": BODY},
)
def hand_in_readings(visit: ApiWriter, probe: ProbeName, payload: Annotated[bytes, Depends(whole_body)]) -> HandedIn:
    """Keep the readings of one message; sending it again is harmless when it has times of its own.

    The answer comes when they are on the disk. Values that cannot be are named with their reason, the others kept.
    """
    token = token_of(visit)
    if token is not None and token.probe != probe:
        hint = f"It hands in readings of {token.probe} alone; make another one for {probe[:60]}."
        raise HTTPException(403, Trouble(403, "This token is for another probe.", hint))
    topic = _topic(probe)
    found = _understood(topic, payload, to_ms(visit.now_at))
    try:
        with visit.changing() as db:
            hand_in(db, topic, payload, visit.now_at)
    except TooManyWait as full:
        raise HTTPException(503, Trouble(503, "Too much waits for the collector.", full.hint)) from full
    refused = [Refused(field=field, reason=reason) for field, reason in found.refused]
    return HandedIn(probe=probe, taken=len(found.samples), refused=refused)


def _topic(probe: str) -> str:
    try:
        check_probe(probe)
    except EntryRefused as refused:
        raise HTTPException(422, Trouble(422, str(refused), refused.hint)) from refused
    return f"rindwatch/{probe}/readings"


def _understood(topic: str, payload: bytes, arrived_ms: int) -> Arrival:
    try:
        found = arrival(decode(topic, payload), Passage(topic, arrived_ms, payload=payload))
    except ReadingRejected as rejected:
        raise HTTPException(422, Trouble(422, f"Not understood: {rejected.reason}.", rejected.hint)) from rejected
    if not found.samples and found.refused:
        field, reason = found.refused[0]
        raise HTTPException(422, Trouble(422, f"Nothing could be taken: {field}: {reason}.", "Mend it and send it."))
    return found
