"""Asks a child process for one wheel's weight."""

import json
import logging
import os
import subprocess
import sys
from collections import OrderedDict
from collections.abc import Callable
from datetime import datetime
from threading import Lock
from weakref import WeakKeyDictionary

from sqlalchemy import Connection, Engine, func, select

from collector.records.columns import to_ms
from collector.records.tables import fact_change
from collector.settings import Settings
from dashboard.weights.told import Told, Wish
from dashboard.wheels.tables import entry

log = logging.getLogger(__name__)
HOUR_MS = 3_600_000
MOST_REMEMBERED = 24
CHILD = "dashboard.weights.child"
WAIT_S = 60.0  # a small machine that is busy takes ten times as long as an idle one
FAILED = Told("unknown", "Its weight could not be worked out just now. Try again in a minute.")


def ask(settings: Settings, wheel_id: str, wish: Wish, now_at: datetime) -> Told | None:
    """What is told of a wheel; None where there is no such wheel. A child that fails is logged and told of."""
    question = {
        "records": settings.records_at, "readings": str(settings.readings_path), "wheel_id": wheel_id,
        "cover_with": wish.cover_with, "aim_pct": wish.aim_pct, "on": wish.on.isoformat() if wish.on else "",
        "now": now_at.isoformat(),
    }  # fmt: skip
    command = [sys.executable, "-m", CHILD]
    # One thread: the matrices are small, and each further thread reserves memory.
    environment = os.environ | {"OPENBLAS_NUM_THREADS": "1"}
    try:
        asked = json.dumps(question).encode()
        done = subprocess.run(command, input=asked, capture_output=True, timeout=WAIT_S, check=False, env=environment)
    except subprocess.TimeoutExpired:
        log.warning("weight_took_too_long wheel=%s", wheel_id)
        return FAILED
    if done.returncode:
        log.warning("weight_not_worked_out wheel=%s error=%s", wheel_id, done.stderr.decode()[-300:])
        return FAILED
    found = json.loads(done.stdout)
    return None if found is None else Told(**found)


_remembered: WeakKeyDictionary[Engine, OrderedDict[object, Told]] = WeakKeyDictionary()
_lock = Lock()


def tag(db: Connection, wheel_id: str, wish: Wish, now_at: datetime) -> object:
    """What an answer hangs on: the book, the dated facts, and the hour, for the air moves on."""
    entries = db.execute(select(func.count()).select_from(entry)).scalar_one()
    return wheel_id, wish, entries, db.execute(select(func.max(fact_change.c.seq))).scalar(), to_ms(now_at) // HOUR_MS


def remembered(engine: Engine, key: object, work: Callable[[], Told | None]) -> Told | None:
    """An answer that was given for the same tag, else a new one; what failed is not remembered."""
    with _lock:
        known = _remembered.setdefault(engine, OrderedDict())
        if key in known:
            known.move_to_end(key)
            return known[key]
    found = work()
    if found is not None and found != FAILED:
        with _lock:
            known[key] = found
            while len(known) > MOST_REMEMBERED:
                known.popitem(last=False)
    return found
