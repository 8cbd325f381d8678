"""What a phone's passkey is asked: a random challenge, kept here, good once, for minutes, and for one browser."""

import base64
import secrets
from collections import OrderedDict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from threading import Lock

from dashboard.people.person import Person

LASTS = timedelta(minutes=5)  # W3C Web Authentication Level 3, 15.1: 300,000 to 600,000 ms is recommended
MOST = 200  # waiting at once; the oldest goes first
CHALLENGE_BYTES = 32  # 13.4.3 there: at least 16
# Ed25519, ECDSA with P-256, RSA with PKCS 1: the registry of COSE algorithms, what webauthn verifies by itself.
ALGORITHMS = (-8, -7, -257)


@dataclass(frozen=True, slots=True)
class PasskeyPlace:
    """An address where passkeys work. `host`: the name that they are bound to; `origin`: scheme, name and port."""

    host: str
    origin: str


@dataclass(frozen=True, slots=True)
class Question:
    """A challenge and what its answer must be bound to. `name`: of the passkey that is being made."""

    challenge: bytes
    place: PasskeyPlace
    asked_at: datetime
    name: str = ""


class Questions:
    """Challenges that wait for their answer, one for each browser; a restart forgets them, which is no harm."""

    def __init__(self) -> None:
        self._waiting: OrderedDict[str, Question] = OrderedDict()
        self._lock = Lock()

    def ask(self, browser: str, place: PasskeyPlace, now_at: datetime, name: str = "") -> Question:
        """A new question to a browser; one that it was asked before counts no more."""
        question = Question(secrets.token_bytes(CHALLENGE_BYTES), place, now_at, name)
        with self._lock:
            self._waiting.pop(browser, None)
            self._waiting[browser] = question
            while len(self._waiting) > MOST:
                self._waiting.popitem(last=False)
        return question

    def take(self, browser: str, place: PasskeyPlace, now_at: datetime) -> Question | None:
        """The question that a browser answers now; it is gone by this, whatever the answer is worth."""
        with self._lock:
            question = self._waiting.pop(browser, None)
        if question is None or question.place != place or not timedelta() <= now_at - question.asked_at < LASTS:
            return None
        return question


def text_of(value: bytes) -> str:
    """Bytes as they are written in WebAuthn's JSON: base64url without padding."""
    return base64.urlsafe_b64encode(value).decode().rstrip("=")


def creation_options(question: Question, person: Person, house_name: str, held: Sequence[str]) -> Mapping[str, object]:
    """What navigator.credentials.create() is told (PublicKeyCredentialCreationOptionsJSON).

    Written here and not by the library, which is loaded in short-lived children only; a test compares the two.

    Args:
        held: ids of the passkeys that this person has already, so that no phone makes a second.
    """
    return {
        "rp": {"name": house_name, "id": question.place.host},
        "user": {"id": text_of(person.id.encode()), "name": person.name, "displayName": person.name},
        "challenge": text_of(question.challenge),
        "pubKeyCredParams": [{"type": "public-key", "alg": number} for number in ALGORITHMS],
        "timeout": _lasts_ms(),
        "excludeCredentials": [{"id": credential_id, "type": "public-key"} for credential_id in held],
        "authenticatorSelection": {
            "residentKey": "required", "requireResidentKey": True, "userVerification": "preferred",
        },
        "attestation": "none",
    }  # fmt: skip


def request_options(question: Question) -> Mapping[str, object]:
    """What navigator.credentials.get() is told; no passkey is named, so that the phone offers those it has."""
    return {
        "challenge": text_of(question.challenge), "timeout": _lasts_ms(), "rpId": question.place.host,
        "allowCredentials": [], "userVerification": "preferred",
    }  # fmt: skip


def _lasts_ms() -> int:
    return int(LASTS.total_seconds() * 1000)
