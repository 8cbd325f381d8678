"""A STAND-IN for the few endpoints of InfluxDB 2 that the follower uses; it is no InfluxDB and keeps points in memory.

Written from the public API description of InfluxDB 2 (write, query, delete, buckets, orgs). It is stricter than the
database: lines must be perfect, and a question must have exactly a form that the follower asks. The contract suite is
the same for it and for a real server; what only it can do is misbehave on demand. `python -m tests.influx_stand_in`
runs it until it is ended and says how the contract suite is told of it, as it is told of a real server.
"""

import gzip
import json
import re
import threading
import time
from collections import deque
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime
from decimal import Decimal
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any
from urllib.parse import parse_qs, urlsplit

from tests import delete_predicate
from tests.line_protocol import Malformed, Value, parse

ORG, TOKEN = "dairy", "a-token-for-tests"
ORG_ID = "00000000000000aa"
DAY_S = 86_400
Key = tuple[str, tuple[tuple[str, str], ...], int]  # measurement, tags, time in ms
TEXT = r'"((?:[^"\\]|\\.)*)"'
RANGE = re.compile(
    rf"from\(bucket: {TEXT}\) \|> range\(start: time\(v: (\d+)\), stop: time\(v: (\d+)\)\)"
    rf" \|> filter\(fn: \(r\) => ((?:r\[{TEXT}\] == {TEXT}(?: and )?)+)\)(.*)\Z",
    re.S,
)
PAIR = re.compile(rf"r\[{TEXT}\] == {TEXT}", re.S)
PIVOT = (
    ' |> pivot(rowKey: ["_time"], columnKey: ["_field"], valueColumn: "_value") |> group() |> sort(columns: ["_time"])'
)


@dataclass
class Bucket:
    name: str
    keep_s: int
    id: str
    shard_s: int = 7 * DAY_S
    points: dict[Key, dict[str, Value]] = field(default_factory=dict)
    types: dict[tuple[str, str], type] = field(default_factory=dict)


@dataclass
class Trouble:
    """One misbehaviour: a status with headers, or what is done to the connection.

    Args:
        effect: none of the request counts unless "after", which takes it and then loses the answer.
    """

    status: int = 0
    message: str = ""
    headers: dict[str, str] = field(default_factory=dict)
    wait_s: float = 0.0
    connection: str = ""  # "close": no answer; "half": half an answer
    after: bool = False


class InfluxStandIn:
    """The server's memory and its moods."""

    def __init__(self) -> None:
        self.buckets: dict[str, Bucket] = {}
        self.troubles: deque[Trouble] = deque()
        self.max_lines = 1_000_000
        self.missing_is_404 = True  # versions differ: others answer with an empty list
        self.requests: list[tuple[str, str, int]] = []  # method, path, lines
        self.deletes: list[str] = []
        self.lock = threading.Lock()
        self.port = self.made = 0

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def make_bucket(self, name: str, keep_s: int = 0, shard_s: int = 7 * DAY_S) -> Bucket:
        self.made += 1
        bucket = self.buckets[name] = Bucket(name, keep_s, f"{self.made:016x}", shard_s)
        return bucket

    def writes(self) -> list[int]:
        """The number of lines of each write that was asked for."""
        return [lines for method, path, lines in self.requests if (method, path) == ("POST", "/api/v2/write")]

    @contextmanager
    def running(self, port: int = 0) -> Iterator["InfluxStandIn"]:
        handler = type("Handler", (_Handler,), {"stand_in": self})
        server = ThreadingHTTPServer(("127.0.0.1", port), handler)
        server.daemon_threads = True
        self.port = server.server_address[1]
        thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02})
        thread.start()
        try:
            yield self
        finally:
            server.shutdown()
            server.server_close()
            thread.join()


class _Refused(Exception):
    def __init__(self, status: int, code: str, message: str) -> None:
        super().__init__(message)
        self.status, self.code, self.message = status, code, message


class _Handler(BaseHTTPRequestHandler):
    stand_in: InfluxStandIn
    protocol_version = "HTTP/1.1"
    timeout = 20
    wbufsize = 65_536  # head and body in one packet, or each answer waits for the client's delayed acknowledgement

    def log_message(self, *_args: object) -> None:
        pass

    def do_GET(self) -> None:
        self._answer()

    def do_POST(self) -> None:
        self._answer()

    def do_PATCH(self) -> None:
        self._answer()

    def do_DELETE(self) -> None:
        self._answer()

    def _answer(self) -> None:
        body = self.rfile.read(int(self.headers.get("Content-Length") or 0))
        if self.headers.get("Content-Encoding") == "gzip":
            body = gzip.decompress(body)
        url = urlsplit(self.path)
        with self.stand_in.lock:
            self.stand_in.requests.append((self.command, url.path, body.count(b"\n") + 1 if body else 0))
            trouble = self.stand_in.troubles.popleft() if self.stand_in.troubles else None
            if trouble is None or trouble.after:
                status, headers, answer = self._done(url.path, {k: v[0] for k, v in parse_qs(url.query).items()}, body)
            else:
                status, headers, answer = self._troubled(trouble)
        if trouble is not None and trouble.wait_s:
            time.sleep(trouble.wait_s)
        if trouble is not None and trouble.connection:
            self._broken(trouble.connection)
            return
        self._send(status, headers, answer)

    def _troubled(self, trouble: Trouble) -> tuple[int, dict[str, str], bytes]:
        said = {"code": "trouble", "message": trouble.message or "trouble on demand"}
        return trouble.status or 200, trouble.headers, json.dumps(said).encode()

    def _broken(self, how: str) -> None:
        with suppress(OSError):
            if how == "half":
                self.wfile.write(b"HTTP/1.1 20")
                self.wfile.flush()
        self.close_connection = True

    def _send(self, status: int, headers: dict[str, str], answer: bytes) -> None:
        with suppress(OSError):
            self.send_response(status)
            for name, value in headers.items():
                self.send_header(name, value)
            if status != 204:
                self.send_header("Content-Length", str(len(answer)))
            self.end_headers()
            if status != 204:
                self.wfile.write(answer)

    def _done(self, path: str, asked: dict[str, str], body: bytes) -> tuple[int, dict[str, str], bytes]:
        try:
            if self.headers.get("Authorization") != f"Token {TOKEN}":
                raise _Refused(401, "unauthorized", "unauthorized access")
            route = ROUTES.get((self.command, re.sub(r"/buckets/\w+", "/buckets/ID", path)))
            if route is None:
                raise _Refused(404, "not found", f"path {path} is not stood in for")
            status, answer = route(self, asked, body)
            if not path.endswith("/query"):
                return status, {"Content-Type": "application/json"}, answer
            headers = {"Content-Type": "text/csv; charset=utf-8"}
            if "gzip" in self.headers.get("Accept-Encoding", ""):
                return status, headers | {"Content-Encoding": "gzip"}, gzip.compress(answer, 1)
            return status, headers, answer
        except _Refused as refused:
            said = json.dumps({"code": refused.code, "message": refused.message}).encode()
            return refused.status, {"Content-Type": "application/json"}, said

    def _bucket(self, name: str, org: str) -> Bucket:
        if org not in (ORG, ORG_ID):
            raise _Refused(404, "not found", f'organization name "{org}" not found')
        bucket = self.stand_in.buckets.get(name)
        if bucket is None:
            raise _Refused(404, "not found", f'bucket "{name}" not found')
        return bucket

    def _write(self, asked: dict[str, str], body: bytes) -> tuple[int, bytes]:
        bucket = self._bucket(asked.get("bucket", ""), asked.get("org", ""))
        if asked.get("precision") != "ms":
            raise _Refused(400, "invalid", f"precision {asked.get('precision')!r} is not what the follower says")
        lines = body.decode().split("\n")
        if len(lines) > self.stand_in.max_lines:
            raise _Refused(413, "request too large", "body too large")
        try:
            points = [parse(line) for line in lines]
        except Malformed as error:
            raise _Refused(400, "invalid", str(error)) from error
        self._keep(bucket, points)
        return 204, b""

    def _keep(self, bucket: Bucket, points: list[Any]) -> None:
        """All but the points that cannot be kept; like the database, which writes the rest and says how many not."""
        dropped, reason = 0, ""
        oldest = (time.time() - bucket.keep_s) * 1_000 if bucket.keep_s else None
        for point in points:
            wrong = [n for n, v in point.fields if bucket.types.get((point.measurement, n), type(v)) is not type(v)]
            if oldest is not None and point.time < oldest:
                dropped, reason = dropped + 1, "points beyond retention policy"
            elif wrong:
                dropped, reason = dropped + 1, f'field type conflict: input field "{wrong[0]}"'
            else:
                bucket.types |= {(point.measurement, n): type(v) for n, v in point.fields}
                bucket.points.setdefault((point.measurement, point.tags, point.time), {}).update(point.fields)
        if dropped:
            said = f"failure writing points to database: partial write: {reason} dropped={dropped}"
            raise _Refused(422, "unprocessable entity", said)

    def _delete(self, asked: dict[str, str], body: bytes) -> tuple[int, bytes]:
        bucket = self._bucket(asked.get("bucket", ""), asked.get("org", ""))
        wish = json.loads(body)
        start, stop = (datetime.fromisoformat(wish[name]).timestamp() * 1_000 for name in ("start", "stop"))
        try:
            labels = delete_predicate.parse(wish["predicate"])
        except Malformed as error:
            raise _Refused(400, "invalid", f"error parsing request json: {error}") from error
        self.stand_in.deletes.append(wish["predicate"])
        for key in list(bucket.points):
            if start <= key[2] <= stop and labels.items() <= _labels(key).items():
                del bucket.points[key]
        return 204, b""

    def _query(self, asked: dict[str, str], body: bytes) -> tuple[int, bytes]:
        flux = json.loads(body)["query"]
        found = RANGE.match(flux)
        if found is None:
            raise _Refused(400, "invalid", f"not a question that is stood in for: {flux}")
        bucket = self._bucket(_unescaped(found[1]), asked.get("org", ""))
        wanted = {_unescaped(name): _unescaped(value) for name, value in PAIR.findall(found[4])}
        start, stop = int(found[2]) // 1_000_000, int(found[3]) // 1_000_000
        if start >= stop:
            raise _Refused(400, "invalid", "invalid: error @1:1: cannot query an empty range")
        which = wanted.pop("_field", None)
        hits = sorted(
            (key[2], key, fields)
            for key, fields in bucket.points.items()
            if start <= key[2] < stop and wanted.items() <= _labels(key).items() and (not which or which in fields)
        )
        if found[7] == PIVOT and which is None:
            rows = [_labels(key) | {"_time": _rfc3339(at)} | fields for at, key, fields in hits]
        elif found[7] == " |> first()" and which is not None:
            firsts = {key[:2]: (at, key, fields) for at, key, fields in reversed(hits)}
            rows = [
                _labels(key) | {"_time": _rfc3339(at), "_field": which, "_value": fields[which]}
                for at, key, fields in firsts.values()
            ]
        else:
            raise _Refused(400, "invalid", f"not a question that is stood in for: {flux}")
        return 200, _csv(rows)

    def _buckets(self, asked: dict[str, str], _body: bytes) -> tuple[int, bytes]:
        if asked.get("org", ORG) != ORG:
            raise _Refused(404, "not found", f'organization name "{asked["org"]}" not found')
        found = [b for b in self.stand_in.buckets.values() if b.name == asked.get("name", b.name)]
        if not found and self.stand_in.missing_is_404:
            raise _Refused(404, "not found", f'bucket "{asked.get("name")}" not found')
        return 200, json.dumps({"buckets": [_shown(bucket) for bucket in found]}).encode()

    def _make(self, _asked: dict[str, str], body: bytes) -> tuple[int, bytes]:
        wish = json.loads(body)
        if wish.get("orgID") != ORG_ID:
            raise _Refused(404, "not found", "organization not found")
        if wish["name"] in self.stand_in.buckets:
            raise _Refused(422, "conflict", f"bucket with name {wish['name']} already exists")
        rule = wish["retentionRules"][0]
        bucket = self.stand_in.make_bucket(wish["name"], *_durations(rule, 7 * DAY_S))
        return 201, json.dumps(_shown(bucket)).encode()

    def _change(self, _asked: dict[str, str], body: bytes) -> tuple[int, bytes]:
        bucket = self._bucket_of_path()
        bucket.keep_s, bucket.shard_s = _durations(json.loads(body)["retentionRules"][0], bucket.shard_s)
        return 200, json.dumps(_shown(bucket)).encode()

    def _remove(self, _asked: dict[str, str], _body: bytes) -> tuple[int, bytes]:
        del self.stand_in.buckets[self._bucket_of_path().name]
        return 204, b""

    def _bucket_of_path(self) -> Bucket:
        own = urlsplit(self.path).path.rsplit("/", 1)[1]
        for bucket in self.stand_in.buckets.values():
            if bucket.id == own:
                return bucket
        raise _Refused(404, "not found", "bucket not found")

    def _orgs(self, asked: dict[str, str], _body: bytes) -> tuple[int, bytes]:
        if asked.get("org") != ORG:
            raise _Refused(404, "not found", f'organization name "{asked.get("org")}" not found')
        return 200, json.dumps({"orgs": [{"id": ORG_ID, "name": ORG}]}).encode()


ROUTES: dict[tuple[str, str], Callable[[_Handler, dict[str, str], bytes], tuple[int, bytes]]] = {
    ("POST", "/api/v2/write"): _Handler._write,
    ("POST", "/api/v2/delete"): _Handler._delete,
    ("POST", "/api/v2/query"): _Handler._query,
    ("GET", "/api/v2/buckets"): _Handler._buckets,
    ("POST", "/api/v2/buckets"): _Handler._make,
    ("PATCH", "/api/v2/buckets/ID"): _Handler._change,
    ("DELETE", "/api/v2/buckets/ID"): _Handler._remove,
    ("GET", "/api/v2/orgs"): _Handler._orgs,
}


def _durations(rule: dict[str, Any], shard_s: int) -> tuple[int, int]:
    """How long a bucket keeps, and its pieces; a piece is never longer, and only the asker makes it shorter."""
    keep_s, shard_s = rule["everySeconds"], rule.get("shardGroupDurationSeconds", shard_s)
    if 0 < keep_s < 3_600:
        raise _Refused(422, "unprocessable entity", "retention policy duration must be at least 1h0m0s")
    if 0 < keep_s < shard_s:
        said = "shard-group duration must also be updated to be smaller than new retention duration"
        raise _Refused(422, "unprocessable entity", said)
    return keep_s, shard_s


def _labels(key: Key) -> dict[str, Any]:
    return {"_measurement": key[0]} | dict(key[1])


def _unescaped(text: str) -> str:
    return re.sub(r"\\(.)", r"\1", text, flags=re.S)


def _rfc3339(at_ms: int) -> str:
    """As the database writes it: only so many digits as are needed."""
    text = datetime.fromtimestamp(at_ms / 1_000, UTC).strftime("%Y-%m-%dT%H:%M:%S")
    return text + (f".{at_ms % 1_000:03d}".rstrip("0") if at_ms % 1_000 else "") + "Z"


def _shown(bucket: Bucket) -> dict[str, Any]:
    rules = [{"type": "expire", "everySeconds": bucket.keep_s, "shardGroupDurationSeconds": bucket.shard_s}]
    return {"id": bucket.id, "orgID": ORG_ID, "type": "user", "name": bucket.name, "retentionRules": rules}


def _csv(rows: list[dict[str, Any]]) -> bytes:
    """Annotated CSV, one table for each set of columns."""
    tables: dict[tuple[str, ...], list[dict[str, Any]]] = {}
    for row in rows:
        tables.setdefault(tuple(sorted(row)), []).append(row)
    lines = []
    for number, (names, own) in enumerate(tables.items()):
        lines += ["#datatype,string,long" + ",string" * len(names), "#group,false,false" + ",false" * len(names)]
        lines += ["#default,_result," + "," * len(names), ",result,table," + ",".join(names)]
        lines += [f",,{number}," + ",".join(_cell(row[name]) for name in names) for row in own]
        lines.append("")
    return "\r\n".join([*lines, ""]).encode()


def _cell(value: Any) -> str:
    # The database writes out every digit of a number, without an exponent.
    text = f"{Decimal(repr(value)):f}" if isinstance(value, float) else str(value)
    return '"' + text.replace('"', '""') + '"' if re.search(r'[",\r\n]', text) else text


def main() -> None:
    with InfluxStandIn().running() as stand_in:
        told = {"URL": stand_in.url, "ORG": ORG, "BUCKET": "caves", "TOKEN": TOKEN}
        print(" ".join(f"RINDWATCH_TEST_INFLUX_{name}={value}" for name, value in told.items()), flush=True)
        with suppress(KeyboardInterrupt):
            threading.Event().wait()


if __name__ == "__main__":
    main()
