"""Passwords, hashed with Argon2id in short-lived children, at most two at once."""

import json
import subprocess
import sys
from pathlib import Path
from threading import BoundedSemaphore
from typing import Any

from collector.errors import EntryRefused

SHORTEST = 10  # our choice: typed once on a phone and remembered by it; tries are counted and slowed
LONGEST = 200
AT_ONCE = 2  # each takes 64 MiB for a tenth of a second
CHILD = Path(__file__).parent / "hashing.py"
WAIT_S = 30
# Stands in for the hash of somebody we do not know, so that a wrong name takes as long as a wrong password. It is the
# hash of nothing anybody can type: its salt and tag are fixed bytes.
NOBODYS_HASH = "$argon2id$v=19$m=65536,t=3,p=4$cmluZHdhdGNoLXJpbmR3YQ$" + "A" * 43

_places = BoundedSemaphore(AT_ONCE)


def check_new(password: str) -> None:
    """Is this good enough for a new password?

    Raises:
        EntryRefused: too short or too long.
    """
    if not SHORTEST <= len(password) <= LONGEST:
        raise EntryRefused("password", f"Take {SHORTEST} to {LONGEST} characters; this has {len(password)}.")


def hash_password(password: str) -> str:
    """The hash to keep; blocks while two others are at work."""
    return str(_ask({"password": password, "hash": ""})["hash"])


def is_right(password: str, kept_hash: str | None) -> bool:
    """True when the password belongs to the hash; takes as long when there is none."""
    answer = _ask({"password": password[: LONGEST + 1], "hash": kept_hash or NOBODYS_HASH})
    return bool(answer["right"]) and kept_hash is not None


def _ask(question: dict[str, str]) -> dict[str, Any]:
    with _places:
        # -P: the child looks for modules where we do, not beside its own file.
        done = subprocess.run(
            [sys.executable, "-P", str(CHILD)], input=json.dumps(question), capture_output=True, text=True,
            timeout=WAIT_S, check=True,
        )  # fmt: skip
    answer: dict[str, Any] = json.loads(done.stdout)
    return answer
