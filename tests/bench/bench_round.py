"""What the round costs with 300 wheels and ten years of entries, as a multiple of an empty page in the same run.

Run with `python -m tests.bench.bench_round`. The promise is at most 8 empty pages and 50 kB compressed. "First" is the
first page after an entry came in, when everything is gathered anew; "again" is any other.
"""

import gzip
import tempfile
from datetime import UTC, datetime
from pathlib import Path
from statistics import median
from time import perf_counter

from fastapi.testclient import TestClient
from sqlalchemy import insert

from collector.prepare import prepare
from collector.records.columns import new_id
from collector.records.engine import open_records
from collector.settings import Settings
from dashboard.app import create_app
from dashboard.settings import DashboardSettings
from dashboard.wheels import tables
from dashboard.wheels.entries import NewEntry, body_json, digest
from dashboard.wheels.refresh import rebuild
from tests.browser.rounds.cellar import Cellar, a_cellar, entry

SHELVES, ON_EACH = 25, 12
ENTRIES_EACH = 400  # 120,000 in all
CHORE_DAYS = 3_650
RUNS = 15


def row(new: NewEntry, now_at: datetime) -> dict[str, object]:
    body = body_json(new)
    return {
        "id": new.id, "kind": new.kind, "wheel_id": new.wheel_id, "place_id": new.place_id, "who": "Keeper",
        "happened_at": new.done_at, "done_at": new.done_at, "received_at": now_at, "body": body,
        "digest": digest(new, body), "flags": [],
    }  # fmt: skip


def filled(settings: Settings, now_at: datetime) -> Cellar:
    """Ten years of chores, and a life full of care for every wheel."""
    engine = open_records(settings.records_at)
    cellar = a_cellar(engine, (ON_EACH,) * SHELVES, now_at)
    rows = []
    for wheel in cellar.wheels.values():
        for number in range(ENTRIES_EACH):
            ago_d = 38 * (ENTRIES_EACH - number) / ENTRIES_EACH
            body = {"kind": "care", "care": "turned", "nothing_new": number % 2 == 0}
            if number % 8 == 0:
                body = {"kind": "weighing", "scale_g": 2_900 - number / 4, "tare_g": 800, "board_id": cellar.board}
            rows.append(row(entry(body, ago_d, now_at, wheel_id=wheel), now_at))
    chore = {"kind": "chore", "chore": "humidifier_filled"}
    rows += [row(entry(chore, ago_d, now_at, place_id=cellar.cave), now_at) for ago_d in range(CHORE_DAYS)]
    with engine.begin() as db:
        for start in range(0, len(rows), 5_000):
            db.execute(insert(tables.entry), rows[start : start + 5_000])
        rebuild(db)
    engine.dispose()
    print(f"{len(rows)} entries of {len(cellar.wheels)} wheels")
    return cellar


def took_ms(client: TestClient, path: str, before: bool, wheel: str) -> tuple[float, bytes]:
    """The median of some askings; `before`: an entry comes in before each."""
    found, content = [], b""
    for _ in range(RUNS):
        if before:
            id = new_id()
            body = {"kind": "looked", "text": id}
            sent = {"id": id, "wheel_id": wheel, "done_at": datetime.now(UTC).isoformat(), "body": body}
            client.put(f"/api/entries/{id}", json=sent).raise_for_status()
        started = perf_counter()
        answer = client.get(path)
        found.append((perf_counter() - started) * 1_000)
        content = answer.raise_for_status().content
    return median(found), content


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        settings, now_at = Settings(data=Path(folder)), datetime.now(UTC)
        prepare(settings)
        wheel = filled(settings, now_at).wheels["24-01"]
        app = create_app(settings, DashboardSettings(sign_in="open-on-loopback"))
        with TestClient(app, "http://127.0.0.1:8000", client=("127.0.0.1", 5_000)) as client:
            took_ms(client, "/round", False, wheel)
            empty, _ = took_ms(client, "/waiting", False, wheel)
            print(f"an empty page: {empty:.1f} ms")
            print(f"{'page':<22}{'again':>8}{'first':>8}{'packed':>10}")
            for path in ("/round", "/round/kept.json", f"/at/{wheel}", "/round/paper", "/round/paper/key-in"):
                again, content = took_ms(client, path, False, wheel)
                first, _ = took_ms(client, path, True, wheel)
                packed_kb = len(gzip.compress(content, 6)) / 1_000
                print(f"{path[:20]:<22}{again / empty:>8.1f}{first / empty:>8.1f}{packed_kb:>7.1f} kB")


if __name__ == "__main__":
    main()
