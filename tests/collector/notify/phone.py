"""The other side of Web Push: a phone that decrypts, and a certificate for the push service that a test runs."""

import base64
import json
from datetime import UTC, datetime, timedelta
from ipaddress import IPv4Address
from pathlib import Path
from typing import Any

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import encode_dss_signature
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat, PublicFormat
from cryptography.x509.oid import NameOID


def certificate(folder: Path) -> tuple[Path, Path]:
    """A certificate for this machine that is its own authority, and its key."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, f"test {key.private_numbers().private_value % 10**9}")])
    now = datetime.now(UTC)
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + timedelta(days=1))
        .add_extension(x509.SubjectAlternativeName([x509.IPAddress(IPv4Address("127.0.0.1"))]), critical=False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=None), critical=True)
        .sign(key, hashes.SHA256())
    )
    certificate_path, key_path = folder / "test-ca.pem", folder / "test-key.pem"
    certificate_path.write_bytes(made.public_bytes(Encoding.PEM))
    key_path.write_bytes(key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()))
    return certificate_path, key_path


def base64url(data: bytes) -> str:
    return base64.urlsafe_b64encode(data).rstrip(b"=").decode()


def unbase64url(text: str) -> bytes:
    return base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))


class Phone:
    """A browser's side of Web Push, written from RFC 8291 and RFC 8188 with nothing of the sender's libraries."""

    def __init__(self, private: int | None = None, auth: bytes = bytes(range(16))) -> None:
        curve = ec.SECP256R1()
        self.key = ec.generate_private_key(curve) if private is None else ec.derive_private_key(private, curve)
        self.auth = auth

    @property
    def public(self) -> bytes:
        return self.key.public_key().public_bytes(Encoding.X962, PublicFormat.UncompressedPoint)

    def subscription(self, endpoint: str) -> dict[str, Any]:
        return {"endpoint": endpoint, "keys": {"p256dh": base64url(self.public), "auth": base64url(self.auth)}}

    def read(self, body: bytes) -> bytes:
        """Decrypt one record: RFC 8188 section 2.1 for the header, RFC 8291 section 3.4 for the keys."""
        salt, id_length = body[:16], body[20]
        sender = body[21 : 21 + id_length]
        shared = self.key.exchange(ec.ECDH(), ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), sender))
        material = _hkdf(self.auth, shared, b"WebPush: info\0" + self.public + sender, 32)
        key = _hkdf(salt, material, b"Content-Encoding: aes128gcm\0", 16)
        nonce = _hkdf(salt, material, b"Content-Encoding: nonce\0", 12)
        plain = AESGCM(key).decrypt(nonce, body[21 + id_length :], None)
        return plain.rstrip(b"\0").removesuffix(b"\2")


def _hkdf(salt: bytes, secret: bytes, info: bytes, length: int) -> bytes:
    return HKDF(hashes.SHA256(), length, salt, info).derive(secret)


def token_claims(authorization: str) -> dict[str, Any]:
    """The claims of a VAPID token whose ES256 signature holds against its own key (RFC 8292, section 3).

    Raises:
        InvalidSignature: it does not.
    """
    parts = dict(part.strip().split("=", 1) for part in authorization.removeprefix("vapid ").split(","))
    signed, _, signature = parts["t"].rpartition(".")
    raw = unbase64url(signature)
    numbers = int.from_bytes(raw[:32], "big"), int.from_bytes(raw[32:], "big")
    public = ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), unbase64url(parts["k"]))
    public.verify(encode_dss_signature(*numbers), signed.encode(), ec.ECDSA(hashes.SHA256()))
    return dict(json.loads(unbase64url(signed.split(".")[1])))
