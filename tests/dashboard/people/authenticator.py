"""A phone's authenticator in software, with a key of `cryptography`: what it says is what a browser would hand on.

The bytes follow W3C Web Authentication Level 3: authenticator data 6.1, the attestation object 6.5.4, "none" 8.7,
client data 5.8.1; the key is a COSE key, RFC 9053, 7.1.1.
"""

import json
import secrets
import struct
from collections.abc import Mapping
from dataclasses import dataclass, field
from hashlib import sha256
from typing import Any

import cbor2
from cryptography.hazmat.primitives.asymmetric.ec import ECDSA, SECP256R1, EllipticCurvePrivateKey, generate_private_key
from cryptography.hazmat.primitives.hashes import SHA256

from dashboard.people.passkey_questions import text_of

PRESENT, VERIFIED, HAS_KEY = 0x01, 0x04, 0x40


@dataclass
class Authenticator:
    """One passkey. `count`: how often it has signed; a synced one keeps it at 0."""

    host: str
    origin: str
    user_id: str = ""
    key: EllipticCurvePrivateKey = field(default_factory=lambda: generate_private_key(SECP256R1()))
    id: bytes = field(default_factory=lambda: secrets.token_bytes(32))
    count: int = 0

    @property
    def public_key(self) -> bytes:
        numbers = self.key.public_key().public_numbers()
        return cbor2.dumps({1: 2, 3: -7, -1: 1, -2: numbers.x.to_bytes(32), -3: numbers.y.to_bytes(32)})

    def make(self, options: Mapping[str, Any], **client: Any) -> dict[str, Any]:
        """The answer to navigator.credentials.create()."""
        self.user_id = options["user"]["id"]
        credential = bytes(16) + struct.pack(">H", len(self.id)) + self.id + self.public_key
        data = self._data(PRESENT | VERIFIED | HAS_KEY) + credential
        attestation = cbor2.dumps({"fmt": "none", "attStmt": {}, "authData": data})
        told = self._client("webauthn.create", options, client)
        return self._answer({"clientDataJSON": text_of(told), "attestationObject": text_of(attestation)})

    def sign(self, options: Mapping[str, Any], **client: Any) -> dict[str, Any]:
        """The answer to navigator.credentials.get()."""
        data, told = self._data(PRESENT | VERIFIED), self._client("webauthn.get", options, client)
        signature = self.key.sign(data + sha256(told).digest(), ECDSA(SHA256()))
        response = {"clientDataJSON": told, "authenticatorData": data, "signature": signature}
        return self._answer({name: text_of(value) for name, value in response.items()} | {"userHandle": self.user_id})

    def _data(self, flags: int) -> bytes:
        return sha256(self.host.encode()).digest() + bytes([flags]) + struct.pack(">I", self.count)

    def _client(self, kind: str, options: Mapping[str, Any], client: Mapping[str, Any]) -> bytes:
        told = {"type": kind, "challenge": options["challenge"], "origin": self.origin, "crossOrigin": False}
        return json.dumps(told | client).encode()

    def _answer(self, response: Mapping[str, str]) -> dict[str, Any]:
        return {"id": text_of(self.id), "rawId": text_of(self.id), "type": "public-key", "response": dict(response)}
