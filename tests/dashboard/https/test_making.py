"""The certificate's files: who may read them, when they are made anew, what a damaged note does."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509

from collector.settings import Settings
from dashboard.https import kept, making
from dashboard.https.making import NameNotAllowed, NameNotUsable, make, renew

NOW_AT = datetime(2026, 3, 12, 14, 10, tzinfo=UTC)
NAMES, ADDRESSES = ["cave.home.arpa", "cellar"], ["192.168.7.20"]


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    return Settings(data=tmp_path)


@pytest.fixture(autouse=True)
def machine(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(making, "machine_name", lambda: "cellar")


def test_keys_are_for_their_owner_alone(settings: Settings) -> None:
    make(settings, NAMES, ADDRESSES, NOW_AT)
    places = kept.places(settings)
    assert [path.stat().st_mode & 0o777 for path in (places.key, places.authority_key)] == [0o600, 0o600]
    assert b"PRIVATE" not in places.certificate.read_bytes() + places.authority.read_bytes()


def test_what_is_noted_is_what_was_made(settings: Settings) -> None:
    made = make(settings, NAMES, ADDRESSES, NOW_AT)
    assert kept.kept(settings) == made
    certificate = x509.load_pem_x509_certificate(kept.places(settings).certificate.read_bytes())
    assert made.ends_at == certificate.not_valid_after_utc
    assert made.host == "cave.home.arpa"


def test_a_second_certificate_is_by_the_authority_that_phones_know(settings: Settings) -> None:
    make(settings, NAMES, ADDRESSES, NOW_AT)
    authority = kept.places(settings).authority.read_bytes()
    make(settings, [*NAMES, "book.home.arpa"], ["192.168.7.99"], NOW_AT)
    assert kept.places(settings).authority.read_bytes() == authority
    make(settings, NAMES, ADDRESSES, NOW_AT, new_authority=True)
    assert kept.places(settings).authority.read_bytes() != authority


def test_a_name_beyond_the_authority_is_refused_and_changes_nothing(settings: Settings) -> None:
    made = make(settings, NAMES, ADDRESSES, NOW_AT)
    with pytest.raises(NameNotAllowed, match=r"may not speak for cave\.lan, 10\.0\.0\.5"):
        make(settings, ["cave.lan"], ["10.0.0.5"], NOW_AT)
    assert kept.kept(settings) == made


def test_something_that_is_no_name_is_refused(settings: Settings) -> None:
    with pytest.raises(NameNotUsable, match="https://cave is no name"):
        make(settings, ["https://cave"], [], NOW_AT)
    assert kept.kept(settings) is None


def test_the_address_stands_in_for_a_name_that_nobody_chose(settings: Settings) -> None:
    assert make(settings, ["cellar", "cellar.local"], ADDRESSES, NOW_AT).host == "192.168.7.20"
    assert make(settings, ["cellar", "cellar.local"], [], NOW_AT).host == "cellar"


def test_it_is_due_a_month_before_its_end_or_when_the_address_changed(settings: Settings) -> None:
    made = make(settings, NAMES, ADDRESSES, NOW_AT)
    assert not made.is_due(made.ends_at - timedelta(days=31), ADDRESSES)
    assert made.is_due(made.ends_at - timedelta(days=29), ADDRESSES)
    assert made.is_due(NOW_AT, ["192.168.8.21"])
    assert not made.is_due(NOW_AT, ["10.0.0.5"])  # the authority may not speak for it: a new one would not help


def test_renewing_keeps_names_and_takes_the_address_of_today(settings: Settings) -> None:
    make(settings, NAMES, ADDRESSES, NOW_AT)
    renewed = renew(settings, ["192.168.8.21", "10.0.0.5"], NOW_AT + timedelta(days=370))
    assert renewed is not None
    assert (renewed.names, renewed.addresses) == (tuple(NAMES), ("192.168.8.21", "192.168.7.20"))
    assert renewed.ends_at > NOW_AT + timedelta(days=760)


def test_there_is_nothing_to_renew_at_first(settings: Settings) -> None:
    assert renew(settings, ADDRESSES, NOW_AT) is None
    assert kept.authority_der(settings) is None


@pytest.mark.parametrize("text", ["", "{}", "[]", '{"scope": 3}'])
def test_a_damaged_note_is_told(settings: Settings, text: str) -> None:
    make(settings, NAMES, ADDRESSES, NOW_AT)
    kept.places(settings).facts.write_text(text)
    with pytest.raises(kept.CertificateUnreadable, match=r"certificate\.json cannot be read"):
        kept.kept(settings)
