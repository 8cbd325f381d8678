"""The authority and its certificates; OpenSSL is the judge."""

import ipaddress
import subprocess
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.x509.oid import ExtendedKeyUsageOID

from dashboard.https.authority import Pair, ends_at, make_authority, make_leaf
from dashboard.https.scope import Scope

NOW_AT = datetime.now(UTC).replace(microsecond=0)
SCOPE = Scope(("home.arpa", "cellar"), ("192.168.0.0/16", "fd12:3456:789a:1::/64"))


@pytest.fixture(scope="module")
def authority() -> Pair:
    return make_authority("rindwatch at cellar, 2026-11-25", SCOPE, NOW_AT)


def _verify(folder: Path, authority: Pair, leaf: Pair, *arguments: str) -> str:
    (folder / "a.pem").write_bytes(authority.certificate_pem)
    (folder / "l.pem").write_bytes(leaf.certificate_pem)
    command = ["openssl", "verify", "-x509_strict", "-purpose", "sslserver", "-CAfile", "a.pem", *arguments, "l.pem"]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    return done.stdout + done.stderr


@pytest.mark.parametrize(
    ("names", "addresses", "asked"),
    [
        (["cave.home.arpa"], ["192.168.7.20"], ("-verify_hostname", "cave.home.arpa")),
        (["cave.home.arpa"], ["192.168.7.20"], ("-verify_ip", "192.168.7.20")),
        (["cellar"], ["fd12:3456:789a:1::20"], ("-verify_ip", "fd12:3456:789a:1::20")),
    ],
)
def test_openssl_accepts_what_the_authority_may_speak_for(
    tmp_path: Path, authority: Pair, names: list[str], addresses: list[str], asked: tuple[str, str]
) -> None:
    leaf = make_leaf(authority, names, addresses, NOW_AT)
    assert _verify(tmp_path, authority, leaf, *asked).endswith("l.pem: OK\n")


@pytest.mark.parametrize(
    ("names", "addresses"),
    [(["bank.example"], []), (["cave.home.arpa", "bank.example"], []), ([], ["8.8.8.8"]), ([], ["2001:db8::1"]),
     (["home.arpa.example"], [])],
)  # fmt: skip
def test_openssl_refuses_what_a_thief_of_the_key_would_make(
    tmp_path: Path, authority: Pair, names: list[str], addresses: list[str]
) -> None:
    leaf = make_leaf(authority, names, addresses, NOW_AT)
    assert "permitted subtree violation" in _verify(tmp_path, authority, leaf)


def test_without_networks_no_address_is_allowed(tmp_path: Path) -> None:
    authority = make_authority("a", Scope(("home.arpa",), ()), NOW_AT)
    for address in ("192.168.7.20", "fd00::1"):
        assert "subtree violation" in _verify(tmp_path, authority, make_leaf(authority, [], [address], NOW_AT))


def test_the_certificate_is_as_phones_ask(authority: Pair) -> None:
    """Apple support article 103769: names in the extension, serverAuth, SHA-256, 825 days at most."""
    leaf = x509.load_pem_x509_certificate(
        make_leaf(authority, ["cave.home.arpa"], ["192.168.7.20"], NOW_AT).certificate_pem
    )
    names = leaf.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    assert names.get_values_for_type(x509.DNSName) == ["cave.home.arpa"]
    assert names.get_values_for_type(x509.IPAddress) == [ipaddress.ip_address("192.168.7.20")]
    usage = leaf.extensions.get_extension_for_class(x509.ExtendedKeyUsage).value
    assert list(usage) == [ExtendedKeyUsageOID.SERVER_AUTH]
    assert leaf.not_valid_after_utc - leaf.not_valid_before_utc == timedelta(days=397)
    assert leaf.signature_hash_algorithm is not None
    assert leaf.signature_hash_algorithm.name == "sha256"


def test_a_phone_whose_clock_is_a_little_behind_takes_it(authority: Pair) -> None:
    leaf = x509.load_pem_x509_certificate(make_leaf(authority, ["cellar"], [], NOW_AT).certificate_pem)
    assert leaf.not_valid_before_utc <= NOW_AT - timedelta(hours=23)
    assert ends_at(authority.certificate_pem) - NOW_AT > timedelta(days=3_600)
