"""Our key pair for Web Push (VAPID, RFC 8292), made once."""

import base64
import os
from pathlib import Path

from collector.settings import Settings, write_secret

FILE = "push-key"
TEST_CA = "RINDWATCH_TEST_PUSH_CA"  # a test's own push service: the file of its certificate authority
KEY_BYTES = 32


def private_key(settings: Settings) -> str:
    """Our private key, raw and base64url; made at the first asking, by whichever process asks first."""
    path = settings.secrets_folder / FILE
    if not path.exists():
        from cryptography.hazmat.primitives.asymmetric import ec  # only here: it would stay in memory for good

        settings.secrets_folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        number = ec.generate_private_key(ec.SECP256R1()).private_numbers().private_value
        _keep_first(path, base64url(number.to_bytes(KEY_BYTES, "big")))
    return path.read_text().strip()


def _keep_first(path: Path, text: str) -> None:
    own = path.with_name(f"{path.name}.{os.getpid()}")
    write_secret(own, text)
    try:
        os.link(own, path)  # fails when another process was first; its key stands
    except FileExistsError:
        return
    finally:
        own.unlink()


def public_key(settings: Settings) -> str:
    """The key that a page hands to the browser when it subscribes (applicationServerKey)."""
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

    private = ec.derive_private_key(int.from_bytes(unbase64url(private_key(settings)), "big"), ec.SECP256R1())
    return base64url(private.public_key().public_bytes(Encoding.X962, PublicFormat.UncompressedPoint))


def base64url(data: bytes) -> str:
    return base64.urlsafe_b64encode(data).rstrip(b"=").decode()


def unbase64url(text: str) -> bytes:
    """The bytes of a base64url text, with or without padding.

    Raises:
        ValueError: it is none.
    """
    bare = text.rstrip("=")
    try:
        return base64.b64decode(bare + "=" * (-len(bare) % 4), altchars=b"-_", validate=True)
    except ValueError as error:
        raise ValueError(f"no base64url text of {len(text)} characters") from error
