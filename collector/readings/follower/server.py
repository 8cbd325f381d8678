"""The follower's database through influxdb-client, its errors turned into ours.

The library is loaded at the first use: a home without a follower pays nothing for it.
"""

import csv
import io
import json
from collections.abc import Collection, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from email.utils import parsedate_to_datetime
from typing import TYPE_CHECKING, Any, Protocol

from collector.errors import (
    BatchTooLarge,
    FollowerAway,
    FollowerShut,
    FollowerTrouble,
    PointsRefused,
    SettingsWrong,
)
from collector.readings.follower.points import predicate
from collector.readings.follower.settings import FollowerSettings

if TYPE_CHECKING:
    from influxdb_client import InfluxDBClient
    from influxdb_client.rest import ApiException

CONNECT_MS, ANSWER_MS = 10_000, 60_000
DAY_S = 86_400


@dataclass(frozen=True, slots=True)
class Bucket:
    """What the database says of the bucket; 0 keeps for ever."""

    name: str
    keep_s: int


class TimeSeriesServer(Protocol):
    """What the follower asks of a database."""

    def write(self, lines: Sequence[str]) -> None: ...

    def take_back(self, measurement: str, tags: Mapping[str, str], from_ms: int, to_ms: int) -> None: ...


class InfluxServer:
    """One bucket of an InfluxDB 2.

    Raises:
        FollowerAway, FollowerShut: from every method.
        BatchTooLarge, PointsRefused: from `write`.
    """

    def __init__(self, settings: FollowerSettings, answer_ms: int = ANSWER_MS) -> None:
        self._settings, self._answer_ms = settings, answer_ms
        self._client: InfluxDBClient | None = None
        self._token = ""

    @property
    def address(self) -> str:
        return self._settings.influx_url

    def close(self) -> None:
        if self._client is not None:
            self._client.close()
            self._client = None

    def write(self, lines: Sequence[str]) -> None:
        """Keep points; those of the same series and time are overwritten."""
        from influxdb_client.client.write_api import SYNCHRONOUS

        own = self._settings
        with self._ours(final=(400, 422)) as client:
            # The library's own batches and repeats are for programs that may forget what they could not send.
            api = client.write_api(write_options=SYNCHRONOUS)
            api.write(own.influx_bucket, own.influx_org, "\n".join(lines).encode(), write_precision="ms")

    def take_back(self, measurement: str, tags: Mapping[str, str], from_ms: int, to_ms: int) -> None:
        """Delete the points of a series from a time to a time, both included."""
        with self._ours(final=(400, 405, 422, 501)) as client:
            # Whether the end is included differs between versions; no point lies within the next ms.
            client.delete_api().delete(
                _moment(from_ms), _moment(to_ms + 1), predicate(measurement, tags), self._settings.influx_bucket,
                self._settings.influx_org,
            )  # fmt: skip

    def rows(self, flux: str) -> Iterator[dict[str, str]]:
        """The rows that answer a question, by name of their column; times as texts of RFC 3339."""
        with self._ours() as client:
            answer = client.query_api().query_raw(flux, org=self._settings.influx_org)
            text = answer.data.decode() if hasattr(answer, "data") else answer.decode()
        for row in _rows(text):
            if "error" in row and "_time" not in row:  # how the database tells of trouble in the midst of an answer
                raise FollowerAway(self.address, f"broke off its answer: {row['error']}")
            yield row

    def bucket(self) -> Bucket | None:
        """The bucket, None when there is none of that name."""
        with self._ours() as client:
            found = self._found(client)
        for bucket in found:
            rules = bucket.retention_rules or []
            return Bucket(bucket.name, int(rules[0].every_seconds or 0) if rules else 0)
        return None

    def _found(self, client: "InfluxDBClient") -> list[Any]:
        """The buckets of our name, one or none; some versions say "not found" for none."""
        from influxdb_client.rest import ApiException

        own = self._settings
        try:
            return list(client.buckets_api().find_buckets(name=own.influx_bucket, org=own.influx_org).buckets or [])
        except ApiException as error:
            if error.status == 404 and "bucket" in _said(error):
                return []
            raise

    def set_up(self) -> Bucket:
        """Make the bucket, or give it the retention that the settings name."""
        from influxdb_client import BucketRetentionRules

        name, keep_s = self._settings.influx_bucket, self._settings.influx_keep_days * DAY_S
        shard_s = shard_group_s(keep_s)
        rules = [BucketRetentionRules(type="expire", every_seconds=keep_s, shard_group_duration_seconds=shard_s)]
        with self._ours() as client:
            api = client.buckets_api()
            if found := self._found(client):
                found[0].retention_rules = rules
                api.update_bucket(found[0])
            else:
                api.create_bucket(bucket_name=name, retention_rules=rules, org=self._settings.influx_org)
        return Bucket(name, keep_s)

    def _opened(self) -> "InfluxDBClient":
        from influxdb_client import InfluxDBClient

        secret = self._settings.token
        token = secret.get_secret_value() if secret else ""
        if self._client is None or token != self._token:
            self.close()
            # Waiting and trying again is ours: it must end when the collector ends, and redirects lead nowhere.
            self._client = InfluxDBClient(
                self.address, token, org=self._settings.influx_org,
                timeout=(min(CONNECT_MS, self._answer_ms // 3), self._answer_ms),
                enable_gzip=True, retries=False,
            )  # fmt: skip
            self._token = token
        return self._client

    @contextmanager
    def _ours(self, final: Collection[int] = ()) -> Iterator["InfluxDBClient"]:
        """The library's client; its errors become ours, those with a final status refusals for good."""
        from influxdb_client.rest import ApiException
        from urllib3.exceptions import HTTPError

        try:
            yield self._opened()
        except ApiException as error:
            raise self._refusal(error, final) from error
        except (HTTPError, OSError) as error:
            raise FollowerAway(self.address, f"does not answer: {_short(error)}") from error
        except SettingsWrong as error:
            raise FollowerShut(self.address, f"cannot be asked, {error}") from error

    def _refusal(self, error: "ApiException", final: Collection[int]) -> FollowerTrouble:
        said, status, own = _said(error), int(error.status or 0), self._settings
        if status in final:
            return PointsRefused(self.address, f"refuses it: {said}")
        if status == 413:
            return BatchTooLarge(self.address, "takes fewer points at once")
        if status == 401:
            return FollowerShut(self.address, f"does not accept the token for the organisation {own.influx_org}")
        if status == 403:
            return FollowerShut(self.address, f"does not let this token use the bucket {own.influx_bucket}")
        if status == 404:
            return FollowerShut(
                self.address, f"knows no bucket {own.influx_bucket} in the organisation {own.influx_org}: {said}"
            )
        return FollowerAway(self.address, f"answers {status or 'nothing'}: {said}", _asked_wait_s(error))


def shard_group_s(keep_s: int) -> int:
    """How much time the database keeps in one piece [s]: its own defaults, said because it never shortens them itself.

    A bucket made to keep for ever has pieces of a week, and would refuse to keep less than that.

    Args:
        keep_s: how long the bucket keeps, 0 for ever.
    Source: InfluxDB 2 documentation, "Data organization, shard group durations".
    """
    if keep_s and keep_s < 2 * DAY_S:
        return DAY_S // 24
    return DAY_S if keep_s and keep_s <= 183 * DAY_S else 7 * DAY_S


def _rows(text: str) -> Iterator[dict[str, str]]:
    """Rows of an annotated CSV answer; each of its tables has a head of its own, after a line that is empty."""
    head: list[str] | None = None
    for row in csv.reader(io.StringIO(text, newline="")):
        if not row or row[0].startswith("#"):
            head = None
        elif head is None:
            head = row
        else:
            yield dict(zip(head, row, strict=False))


def _said(error: "ApiException") -> str:
    """What the server said, from its JSON or as it stands."""
    body = error.body or error.reason or ""
    text = body.decode("utf-8", "replace") if isinstance(body, bytes) else str(body)
    try:
        found = json.loads(text)
    except ValueError:
        return text[:300]
    return str(found.get("message") or found.get("code") or text)[:300] if isinstance(found, dict) else text[:300]


def _asked_wait_s(error: "ApiException") -> float | None:
    """The pause that the server asks for, in seconds or as a date (RFC 9110, 10.2.3)."""
    asked = (error.headers or {}).get("Retry-After")
    if asked is None:
        return None
    try:
        return max(0.0, float(asked))
    except ValueError:
        pass
    try:
        return max(0.0, (parsedate_to_datetime(asked) - datetime.now(UTC)).total_seconds())
    except (TypeError, ValueError):
        return None


def _moment(at_ms: int) -> datetime:
    return datetime.fromtimestamp(at_ms / 1_000, UTC)


def _short(error: BaseException) -> str:
    return str(error)[:200] or type(error).__name__
