"""A real Mosquitto with TLS, user and password, and the certificates for it."""

import shutil
import socket
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

NAME = "localhost"
USER, PASSWORD = "lower-fridge", "a password of this test"
START_S = 10


@dataclass(frozen=True, slots=True)
class Broker:
    port: int
    ca_pem: Path
    ca_der: Path


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def make_certificates(folder: Path) -> None:
    """A certificate authority and a certificate for `localhost`, both good for a day."""
    authority_key, key = ec.generate_private_key(ec.SECP256R1()), ec.generate_private_key(ec.SECP256R1())
    authority = certificate("A house of this test", authority_key, "A house of this test", authority_key, is_ca=True)
    own = certificate(NAME, key, "A house of this test", authority_key, is_ca=False)
    pem, der = serialization.Encoding.PEM, serialization.Encoding.DER
    (folder / "ca.pem").write_bytes(authority.public_bytes(pem))
    (folder / "ca.der").write_bytes(authority.public_bytes(der))
    (folder / "own.pem").write_bytes(own.public_bytes(pem))
    plain = serialization.NoEncryption()
    (folder / "own.key").write_bytes(key.private_bytes(pem, serialization.PrivateFormat.PKCS8, plain))


def certificate(
    name: str,
    key: ec.EllipticCurvePrivateKey,
    issuer: str,
    issuer_key: ec.EllipticCurvePrivateKey,
    *,
    is_ca: bool,
) -> x509.Certificate:
    now = datetime.now(UTC)
    builder = (
        x509.CertificateBuilder()
        .subject_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)]))
        .issuer_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, issuer)]))
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(hours=1))
        .not_valid_after(now + timedelta(days=1))
        .add_extension(x509.BasicConstraints(ca=is_ca, path_length=None), critical=True)
    )
    if not is_ca:
        builder = builder.add_extension(x509.SubjectAlternativeName([x509.DNSName(name)]), critical=False)
    return builder.sign(issuer_key, hashes.SHA256())


def mosquitto_path() -> str | None:
    return shutil.which("mosquitto") or shutil.which("mosquitto", path="/usr/sbin")


@contextmanager
def mosquitto(folder: Path) -> Iterator[Broker]:
    """Runs until the block ends."""
    make_certificates(folder)
    port = free_port()
    passwords = folder / "passwords"
    subprocess.run(["mosquitto_passwd", "-b", "-c", str(passwords), USER, PASSWORD], check=True, capture_output=True)
    config = folder / "mosquitto.conf"
    config.write_text(
        f"listener {port} 127.0.0.1\nallow_anonymous false\npassword_file {passwords}\nuser root\n"
        f"cafile {folder}/ca.pem\ncertfile {folder}/own.pem\nkeyfile {folder}/own.key\n"
        "max_queued_messages 0\nmax_inflight_messages 0\nlog_dest none\n"
    )
    process = subprocess.Popen([str(mosquitto_path()), "-c", str(config)])
    try:
        wait_for(port)
        yield Broker(port, folder / "ca.pem", folder / "ca.der")
    finally:
        process.terminate()
        process.wait(timeout=START_S)


def wait_for(port: int) -> None:
    until = time.monotonic() + START_S
    while True:
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
            return
        except OSError:
            if time.monotonic() > until:
                raise
            time.sleep(0.05)
