"""What a phone's passkey answers, verified by the webauthn library in short-lived children, at most two at once."""

import base64
import json
import logging
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from threading import BoundedSemaphore
from typing import Any

from collector.errors import EntryRefused
from dashboard.people.passkey_questions import Question, text_of

log = logging.getLogger(__name__)
FIELD = "credential"
LONGEST = 20_000  # characters; real answers have some 1,000, with an attestation nobody asked for 6,000
AT_ONCE = 2
CHILD = Path(__file__).parent / "passkey_child.py"
WAIT_S = 30
NOT_RIGHT = "What the phone answered does not fit what this house asked. Try again."

_places = BoundedSemaphore(AT_ONCE)


@dataclass(frozen=True, slots=True)
class Made:
    """A new passkey as its phone tells it, verified. `credential_id`: base64url; `sign_count`: 0 where none counts."""

    credential_id: str
    public_key: bytes
    sign_count: int


def read(text: str) -> Mapping[str, Any]:
    """A phone's answer, as the page sent it.

    Raises:
        EntryRefused: it is too long, or no JSON object with an id.
    """
    if len(text) > LONGEST:
        raise EntryRefused(FIELD, f"The phone's answer has {len(text)} characters, at most {LONGEST} are taken.")
    try:
        found = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise EntryRefused(FIELD, NOT_RIGHT) from error
    if not isinstance(found, dict) or not isinstance(found.get("id"), str):
        raise EntryRefused(FIELD, NOT_RIGHT)
    return found


def made(credential: Mapping[str, Any], question: Question) -> Made:
    """The new passkey in an answer.

    Raises:
        EntryRefused: it does not fit the question.
    """
    found = _ask({"do": "make"}, credential, question)
    return Made(found["credential_id"], _bytes(found["public_key"]), found["sign_count"])


def sign_count(credential: Mapping[str, Any], question: Question, public_key: bytes) -> int:
    """How often the passkey that signed an answer says it has signed.

    Raises:
        EntryRefused: it was signed by another key, or for another question.
    """
    found = _ask({"do": "sign_in", "public_key": text_of(public_key)}, credential, question)
    return int(found["sign_count"])


def user_of(credential: Mapping[str, Any]) -> str | None:
    """The person's id that the phone keeps beside the passkey, None where it tells none."""
    response = credential.get("response")
    told = response.get("userHandle") if isinstance(response, dict) else None
    if not isinstance(told, str) or not told:
        return None
    try:
        return _bytes(told).decode()
    except ValueError:
        return ""


def _bytes(text: str) -> bytes:
    return base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))


def _ask(what: dict[str, Any], credential: Mapping[str, Any], question: Question) -> dict[str, Any]:
    asked = what | {
        "credential": credential, "challenge": text_of(question.challenge), "host": question.place.host,
        "origin": question.place.origin,
    }  # fmt: skip
    with _places:
        # -P: the child looks for modules where we do, not beside its own file.
        done = subprocess.run(
            [sys.executable, "-P", str(CHILD)], input=json.dumps(asked), capture_output=True, text=True,
            timeout=WAIT_S, check=False,
        )  # fmt: skip
    answer: dict[str, Any] = json.loads(done.stdout) if done.returncode == 0 else {"refused": _last_line(done.stderr)}
    if "refused" in answer:
        log.info("passkey_refused do=%s reason=%s", what["do"], json.dumps(answer["refused"][:200]))
        raise EntryRefused(FIELD, NOT_RIGHT)
    return answer


def _last_line(text: str) -> str:
    """What a child died of: strangers' bytes can take the library's parsers where its authors did not look."""
    return (text.strip().splitlines() or ["ended without a word"])[-1]
