"""What can be said of the follower in plain words, for `rindwatch check`."""

from collections.abc import Mapping
from contextlib import closing
from typing import Any

from collector.readings.follower.server import DAY_S, Bucket, InfluxServer
from collector.readings.follower.settings import FollowerSettings

SETUP = "Run rindwatch check --setup; it makes the bucket and sets how long it keeps."
LOOK_MS = 10_000
HOUR_MS = 3_600_000


def bucket_there(settings: FollowerSettings) -> Bucket | None:
    """Ask the database for the bucket.

    Raises:
        FollowerTrouble: it does not answer, or not to us.
    """
    with closing(InfluxServer(settings, LOOK_MS)) as server:
        return server.bucket()


def set_up(settings: FollowerSettings) -> str:
    """Make the bucket, or set how long it keeps; returns what there is now.

    Raises:
        FollowerTrouble: it does not answer, or not to us.
    """
    with closing(InfluxServer(settings, LOOK_MS)) as server:
        return kept_words(server.set_up())


def kept_words(bucket: Bucket) -> str:
    """How long a bucket keeps."""
    return f"the bucket {bucket.name} keeps {f'{bucket.keep_s / DAY_S:g} days' if bucket.keep_s else 'for ever'}"


def bucket_trouble(settings: FollowerSettings, bucket: Bucket | None) -> str:
    """What is wrong with the bucket, or nothing."""
    if bucket is None:
        return f"{settings.influx_url} has no bucket {settings.influx_bucket}, or this token may not see it"
    if bucket.keep_s != settings.influx_keep_days * DAY_S:
        wanted = kept_words(Bucket(bucket.name, settings.influx_keep_days * DAY_S))
        return f"{kept_words(bucket)}, but by the settings {wanted}"
    return ""


def progress_words(facts: Mapping[str, Any] | None) -> tuple[bool, str]:
    """Whether the copying goes on, and how far it is, from what the collector last said of it."""
    if facts is None:
        return False, "the collector has not begun to copy; it must run with these settings"
    aside = facts.get("set_aside", 0)
    tail = f"; {aside} points were refused for good and set aside: {facts.get('set_aside_reason')}" if aside else ""
    if facts.get("state") != "following":
        return False, f"since {facts.get('since')} it {facts.get('reason')}{_left(facts)}{tail}"
    return not aside, (f"copying goes on{_left(facts)}" if _left(facts) else "everything is copied") + tail


def _left(facts: Mapping[str, Any]) -> str:
    hours = facts.get("owed_ms", 0) / HOUR_MS
    if hours:
        return f", {hours:.0f} hours of readings, all channels together, are still to be copied"
    return f", {facts['lag']} changes are still to be copied" if facts.get("lag", 0) > 100 else ""
