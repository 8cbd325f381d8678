"""Asks a child process for one wheel's weight."""

import json
import logging
import os
import subprocess
import sys
from datetime import datetime

from collector.settings import Settings
from dashboard.weights.told import Told, Wish

log = logging.getLogger(__name__)
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
