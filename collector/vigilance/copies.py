"""The copies: too old, not made, not sent on, not to be restored; told by the signs that copying and trying leave."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from collector.copies import COPY, FAILED, SECOND, TRIAL
from collector.records.columns import to_ms
from collector.records.life import Sign
from collector.vigilance.findings import Finding, Look, View
from collector.vigilance.rules import COPY_FAILED, COPY_NOT_SENT, COPY_OLD, TRIAL_FAILED

COPY_OLD_AFTER = timedelta(days=3)  # our choice: two nights missed


def copies(view: View, signs: Mapping[str, Sign], wanted_since_at: datetime | None, second: str) -> Look:
    """What is wrong with the copies; each is over as soon as the next one goes well.

    Args:
        wanted_since_at: since when copies should be made, None when nobody asked for any. second: where they are sent.
    """
    if wanted_since_at is None:
        return Look()
    looks = (_made(view, signs, wanted_since_at), _sent(signs, second), _tried(signs))
    return Look(tuple(finding for finding in looks if finding is not None))


def _made(view: View, signs: Mapping[str, Sign], wanted_since_at: datetime) -> Finding | None:
    """A failure that is known says more than that the newest is old, so only one of the two is told."""
    made, failed = signs.get(COPY), signs.get(FAILED)
    facts = {"last_ms": to_ms(made.at) if made else None}
    if failed is not None and failed.facts.get("reason"):
        return Finding(COPY_FAILED, failed.at, facts=facts | {"since_ms": to_ms(failed.at)})
    due_at = made.at if made else wanted_since_at
    return Finding(COPY_OLD, due_at, facts=facts) if view.now - due_at >= COPY_OLD_AFTER else None


def _sent(signs: Mapping[str, Sign], second: str) -> Finding | None:
    sent = signs.get(SECOND)
    if sent is None or sent.facts.get("where") != second or not sent.facts.get("reason"):
        return None
    facts: dict[str, Any] = {"last_ms": sent.facts.get("good_ms"), "since_ms": to_ms(sent.at)}
    return Finding(COPY_NOT_SENT, sent.at, facts=facts)


def _tried(signs: Mapping[str, Sign]) -> Finding | None:
    tried = signs.get(TRIAL)
    if tried is None or tried.facts.get("well"):
        return None
    return Finding(TRIAL_FAILED, tried.at, facts={"since_ms": to_ms(tried.at)})
