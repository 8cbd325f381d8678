"""A certificate authority for this house only, and certificates by it. Only bytes in and out.

The authority may speak for nothing but the names and addresses of this house (RFC 5280, section 4.2.1.10): whoever
steals its key cannot pose as a bank. Limits of phones: Apple asks for a subject alternative name, serverAuth, at most
825 days (support article 103769).
"""

import ipaddress
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from dashboard.https.scope import Scope

AUTHORITY_LASTS = timedelta(days=3650)
LEAF_LASTS = timedelta(days=397)
BEFORE = timedelta(days=1)  # a phone whose clock is a little behind must not refuse a new certificate


@dataclass(frozen=True, slots=True)
class Pair:
    """A key and its certificate, both as PEM."""

    key_pem: bytes
    certificate_pem: bytes


def make_authority(name: str, scope: Scope, now_at: datetime) -> Pair:
    """A new authority that may speak for the scope alone."""
    key = ec.generate_private_key(ec.SECP256R1())
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name[:64])])
    permitted: list[x509.GeneralName] = [x509.DNSName(domain) for domain in scope.domains]
    permitted += [x509.IPAddress(ipaddress.ip_network(network)) for network in scope.networks]
    # With no network of ours every address is shut out: a kind that is not named at all would be free.
    shut = [] if scope.networks else [x509.IPAddress(ipaddress.ip_network(whole)) for whole in ("0.0.0.0/0", "::/0")]
    identity = x509.SubjectKeyIdentifier.from_public_key(key.public_key())
    builder = (
        _builder(subject, subject, key.public_key(), now_at, AUTHORITY_LASTS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(signs_certificates=True), critical=True)
        .add_extension(x509.NameConstraints(permitted, shut or None), critical=True)
        .add_extension(identity, critical=False)
    )
    return _pair(key, builder.sign(key, hashes.SHA256()))


def make_leaf(authority: Pair, names: Iterable[str], addresses: Iterable[str], now_at: datetime) -> Pair:
    """A server's certificate for names and addresses, with the authority's own behind it as a chain."""
    issuer_key = serialization.load_pem_private_key(authority.key_pem, None)
    assert isinstance(issuer_key, ec.EllipticCurvePrivateKey)
    issuer = x509.load_pem_x509_certificate(authority.certificate_pem)
    key = ec.generate_private_key(ec.SECP256R1())
    alternatives: list[x509.GeneralName] = [x509.DNSName(name) for name in names]
    alternatives += [x509.IPAddress(ipaddress.ip_address(address)) for address in addresses]
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "rindwatch")])
    builder = (
        _builder(subject, issuer.subject, key.public_key(), now_at, LEAF_LASTS)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(signs_certificates=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName(alternatives), critical=False)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_public_key(issuer_key.public_key()), critical=False)
    )
    own = _pair(key, builder.sign(issuer_key, hashes.SHA256()))
    return Pair(own.key_pem, own.certificate_pem + authority.certificate_pem)


def ends_at(certificate_pem: bytes) -> datetime:
    """When the first certificate of a PEM ends."""
    return x509.load_pem_x509_certificate(certificate_pem).not_valid_after_utc


def _builder(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePublicKey, now_at: datetime, lasts: timedelta
) -> x509.CertificateBuilder:
    return x509.CertificateBuilder(
        issuer, subject, key, x509.random_serial_number(), now_at - BEFORE, now_at - BEFORE + lasts
    )


def _usage(signs_certificates: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs_certificates, key_cert_sign=signs_certificates, crl_sign=signs_certificates,
        content_commitment=False, key_encipherment=False, data_encipherment=False, key_agreement=False,
        encipher_only=False, decipher_only=False,
    )  # fmt: skip


def _pair(key: ec.EllipticCurvePrivateKey, certificate: x509.Certificate) -> Pair:
    private = key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    return Pair(private, certificate.public_bytes(serialization.Encoding.PEM))
